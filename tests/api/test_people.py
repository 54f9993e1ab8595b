"""Coming in by password, keeping people, tokens and sessions: over the real journal, on virtual time."""

from __future__ import annotations

from typing import Any

import httpx2

from api.answers import PersonView
from api.entrance import TRIES_OF_A_CALLER, TRY_AGAIN_S
from api.security import Sessions
from fleet.clock import ManualClock
from fleet.errors import JournalUnavailable
from tests.api.conftest import COOKIE, SITE
from tests.api.test_whole import SETTINGS, House, house, virtual
from tests.api.websocket_driver import connected

LOGIN = "/api/v1/session/login"
PASSWORD = "a lamp at the rock"


async def add(whole: House, name: str, *roles: str, password: str = PASSWORD) -> httpx2.Response:
    body = {"name": name, "roles": list(roles), "password": password}
    return await whole.http.post("/api/v1/people", json=body)


def stranger(whole: House, **more: Any) -> httpx2.AsyncClient:
    return httpx2.AsyncClient(transport=httpx2.ASGITransport(whole.app), base_url=SITE, **more)


async def log_in(whole: House, name: str, password: str = PASSWORD) -> httpx2.AsyncClient:
    client = stranger(whole)
    answer = await client.post(LOGIN, json={"name": name, "password": password})
    assert answer.status_code == 200, answer.text
    return client


@virtual
async def test_whoever_was_added_logs_in_and_their_commands_name_them(url: str) -> None:
    async with house(url) as whole:
        assert (await add(whole, "Stage Left", "operator")).json()["roles"] == ["viewer", "operator"]
        left = await log_in(whole, "stage left")
        tag = (await left.get(SETTINGS)).headers["ETag"]
        done = await left.patch(SETTINGS, json={"low_cut_hz": 80}, headers={"If-Match": tag})
        assert (done.status_code, done.json()["requested_by"]) == (202, "Stage Left")
        assert (await left.get("/api/v1/people")).status_code == 403
        kinds = [entry["kind"] for entry in (await whole.get("journal?limit=1000"))["items"]]
        assert {"person changed", "session opened"} <= set(kinds)


@virtual
async def test_wrong_names_and_wrong_passwords_get_one_answer(url: str) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "engineer")
        await add(whole, "Gone", "engineer")
        await whole.http.post("/api/v1/people/disable", json={"name": "Gone"})
        tries = [("Nobody", PASSWORD), ("Stage Left", "a lamp at the quay"), ("Gone", PASSWORD)]
        answers = [await stranger(whole).post(LOGIN, json={"name": n, "password": p}) for n, p in tries]
        assert {answer.status_code for answer in answers} == {401}
        assert len({answer.text for answer in answers}) == 1
        assert not any("Set-Cookie" in answer.headers for answer in answers)


@virtual
async def test_weak_passwords_and_names_that_mislead_are_refused(url: str) -> None:
    async with house(url) as whole:
        for name, password in [
            ("Stage Left", "short"),
            ("Stage Left", "stage left 1234"),
            ("Stage Left", "a" * 20),
            ("this machine", PASSWORD),
            (" Stage", PASSWORD),
            ("*", PASSWORD),
        ]:
            assert (await add(whole, name, "viewer", password=password)).status_code == 409
        assert (await whole.get("people"))["items"] == []


@virtual
async def test_sessions_and_tokens_are_there_after_a_restart_of_the_console(url: str) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "engineer")
        left = await log_in(whole, "Stage Left")
        token = (await left.post("/api/v1/tokens", json={"name": "script", "roles": ["viewer"]})).json()["secret"]
        cookie = left.cookies[COOKIE]
    async with house(url) as again:
        await again.desk.accounts.restore()
        async with stranger(again, cookies={COOKIE: cookie}) as left, stranger(again) as script:
            shown = (await left.get("/api/v1/session")).json()
            assert shown["person"] == {"name": "Stage Left", "roles": ["viewer", "operator", "engineer"]}
            headers = {"Authorization": f"Bearer {token}"}
            assert (await script.get("/api/v1/session", headers=headers)).json()["person"]["roles"] == ["viewer"]


@virtual
async def test_a_token_reaches_no_further_than_its_roles_and_its_person(url: str) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "operator")
        left = await log_in(whole, "Stage Left")
        beyond = await left.post("/api/v1/tokens", json={"name": "script", "roles": ["engineer"]})
        assert (beyond.status_code, beyond.json()["needed_role"]) == (403, "engineer")
        made = (await left.post("/api/v1/tokens", json={"name": "script", "roles": ["operator"]})).json()
        headers = {"Authorization": f"Bearer {made['secret']}", "Origin": "https://elsewhere.example"}
        async with stranger(whole) as script:
            assert (await script.get("/api/v1/alarms", headers=headers)).status_code == 200
            await whole.http.post("/api/v1/people/roles", json={"name": "Stage Left", "roles": ["viewer"]})
            taken = await script.post("/api/v1/zones/take", json={"zone": "Quay"}, headers=headers)
            assert (taken.status_code, taken.json()["needed_role"]) == (403, "operator")
        # Beside a token that opens nothing, a good cookie doesn't count.
        bad = await left.get("/api/v1/session", headers={"Authorization": "Bearer redpoll_x"})
        assert bad.status_code == 401


@virtual
async def test_another_s_session_is_an_engineer_s_to_end_and_its_screen_goes_at_once(url: str) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "operator")
        left = await log_in(whole, "Stage Left")
        (facts,) = (await left.get("/api/v1/sessions")).json()["items"]
        assert facts["own"]
        everybody = (await left.get("/api/v1/sessions?everybody=true")).status_code
        other = whole.desk.sessions.of("Stage Right")[0].session_id
        assert (everybody, (await left.delete(f"/api/v1/sessions/{other}")).status_code) == (403, 403)
        async with connected(whole.app, left.cookies[COOKIE]) as screen:
            screen.say({"type": "subscribe"})
            assert (await screen.hear())["type"] == "websocket.accept"
            assert (await screen.hear_json())["type"] == "snapshot"
            gone = await whole.http.delete(f"/api/v1/sessions/{facts['session']['session_id']}")
            assert gone.status_code == 204
            assert (await screen.hear_end())[0] == "the session has ended"
        assert (await left.get("/api/v1/session")).status_code == 401


@virtual
async def test_one_changes_one_s_own_password_and_one_s_other_sessions_end(url: str) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "viewer")
        here, elsewhere = await log_in(whole, "Stage Left"), await log_in(whole, "Stage Left")
        wrong = await here.post("/api/v1/session/password", json={"old": "not this one at all", "new": "eight oars"})
        assert wrong.status_code == 401
        body = {"old": PASSWORD, "new": "eight oars and a lamp"}
        assert (await here.post("/api/v1/session/password", json=body)).status_code == 204
        statuses = [(await one.get("/api/v1/session")).status_code for one in (here, elsewhere)]
        assert statuses == [200, 401]
        await log_in(whole, "Stage Left", "eight oars and a lamp")
        by_link = await whole.http.post("/api/v1/session/password", json=body)
        assert by_link.status_code == 409


@virtual
async def test_in_a_held_zone_nobody_else_writes_until_it_is_handed_over(url: str) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "operator")
        left = await log_in(whole, "Stage Left")
        assert (await whole.patch(low_cut_hz=80)).status_code == 202, "nobody holds it: everybody may"
        (writer,) = (await left.post("/api/v1/zones/take", json={"zone": "Quay"})).json()["items"]
        assert writer["person"] == "Stage Left"
        refused = await whole.patch(low_cut_hz=100)
        assert (refused.status_code, refused.json()["code"]) == (409, "zone-held")
        assert "Stage Left" in refused.json()["detail"]
        await left.post("/api/v1/zones/offer", json={"zone": "Quay", "to": "Stage Right"})
        accepted = await whole.http.post("/api/v1/zones/accept", json={"zone": "Quay"})
        assert accepted.json()["items"][0]["person"] == "Stage Right"
        assert (await whole.patch(low_cut_hz=100)).status_code == 202
        forced = await left.post("/api/v1/zones/take", json={"zone": "Quay", "by_force": True, "reason": "ill"})
        assert (forced.status_code, forced.json()["needed_role"]) == (403, "engineer")


@virtual
async def test_while_the_disk_fails_people_come_in_all_the_same(url: str) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "viewer")
        held = whole.console.runtime.people._writer
        whole.console.runtime.people._writer = Broken()  # type: ignore[assignment]  # Only what it is asked for.
        left = await log_in(whole, "Stage Left")
        assert (await left.get("/api/v1/session")).status_code == 200
        assert (await left.delete("/api/v1/session")).status_code == 503
        assert (await left.get("/api/v1/session")).status_code == 401, "ended here all the same"
        whole.console.runtime.people._writer = held


class Broken:
    """A writer whose disk is full."""

    async def run(self, _: object) -> None:
        raise JournalUnavailable("the disk is full")


@virtual
async def test_log_ins_are_bounded_and_the_bound_gives_way_in_time(url: str) -> None:
    async with house(url) as whole:
        await add(whole, "Stage Left", "viewer")
        body = {"name": "Stage Left", "password": "not the password"}
        async with stranger(whole) as guesser:
            answers = [await guesser.post(LOGIN, json=body) for _ in range(TRIES_OF_A_CALLER + 3)]
            codes = [answer.status_code for answer in answers]
            assert codes == [401] * TRIES_OF_A_CALLER + [429] * 3
            assert answers[-1].headers["Retry-After"] == str(TRY_AGAIN_S)
            await whole.console.pass_time(TRY_AGAIN_S)
            again = [(await guesser.post(LOGIN, json=body)).status_code for _ in range(2)]
            assert again == [401, 429]


def test_a_session_from_before_a_restart_counts_once_somebody_comes_with_it() -> None:
    """So that a link is printed again when the browser that had the session is gone."""
    clock = ManualClock()
    secret, session = Sessions(clock).open(PersonView("Stage Left", ("viewer",)))
    again = Sessions(clock)
    again.restore([session.kept()])
    assert not again.any_is_open
    assert again.find(secret) is not None
    assert again.any_is_open
