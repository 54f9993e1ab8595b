"""What is revoked, disabled or has expired has its live connection closed within two seconds, on virtual time."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

import pytest

from tests.api.conftest import COOKIE
from tests.api.test_people import add, log_in
from tests.api.test_whole import House, house
from tests.api.websocket_driver import connected
from tests.virtual_time import run_virtual

WITHIN_S = 2.0


async def _revoke(whole: House) -> None:
    (session,) = whole.desk.sessions.of("Stage Left")
    await whole.http.delete(f"/api/v1/sessions/{session.session_id}")


async def _disable(whole: House) -> None:
    await whole.http.post("/api/v1/people/disable", json={"name": "Stage Left"})


async def _new_password(whole: House) -> None:
    await whole.http.post("/api/v1/people/password", json={"name": "Stage Left", "password": "eight oars and a lamp"})


async def _revoke_token(whole: House) -> None:
    (facts,) = whole.desk.accounts.tokens.of("Stage Left")
    await whole.http.delete(f"/api/v1/tokens/{facts.token_id}")


WAYS: list[tuple[Callable[[House], Awaitable[None]], bool]] = [
    (_revoke, False),
    (_disable, False),
    (_new_password, False),
    (_revoke_token, True),
    (_disable, True),
]


@pytest.mark.parametrize(("way", "by_token"), WAYS)
def test_a_screen_goes_within_two_seconds(
    tmp_path: object, way: Callable[[House], Awaitable[None]], *, by_token: bool
) -> None:
    run_virtual(_trial(f"sqlite:///{tmp_path}/journal.sqlite3", way, by_token=by_token))


async def _trial(url: str, way: Callable[[House], Awaitable[None]], *, by_token: bool) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "operator")
        left = await log_in(whole, "Stage Left")
        more, cookie = {}, left.cookies[COOKIE]
        if by_token:
            made = (await left.post("/api/v1/tokens", json={"name": "script", "roles": ["viewer"]})).json()
            more = {"authorization": f"Bearer {made['secret']}", "origin": ""}
        async with connected(whole.app, None if by_token else cookie, **more) as screen:
            screen.say({"type": "subscribe"})
            assert (await screen.hear())["type"] == "websocket.accept"
            assert (await screen.hear_json())["type"] == "snapshot"
            began_us = whole.console.clock.monotonic_us()
            await way(whole)
            reason, _ = await screen.hear_end()
            took_s = (whole.console.clock.monotonic_us() - began_us) / 1e6
            assert (reason, took_s < WITHIN_S) == ("the session has ended", True), took_s
