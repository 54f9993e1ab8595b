"""The live WebSocket on virtual time, over the real feed."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Awaitable, Callable

import jsonschema
import pytest

from api import live
from api.answers import PersonView
from api.desk import LIVE_CONNECTIONS_MAXIMUM
from api.roles import Role, roles_up_to
from api.security import SESSION_LASTS_S
from api.shapes import components
from fleet.clock import LoopClock
from fleet.model.event import NoticeReceived, Recorded
from fleet.model.snapshot import JournalStatus
from tests.api.conftest import Stage, make_stage
from tests.api.websocket_driver import Client, connected
from tests.virtual_time import run_virtual

SUBSCRIBE = {"type": "subscribe"}
SCHEMAS = components()


def on_stage(act: Callable[[Stage], Awaitable[None]]) -> None:
    """Run a test of the live connection with everything on the virtual loop's clock."""

    async def run() -> None:
        await act(make_stage(clock=LoopClock(1_700_000_000_000_000)))

    run_virtual(run())


def valid(body: object) -> object:
    """The body, once it was held against the schema that the screen's types are made from."""
    jsonschema.validate(body, {"$ref": "#/components/schemas/LiveMessage", "components": {"schemas": SCHEMAS}})
    return body


async def greeted(client: Client) -> dict[str, object]:
    """Subscribe, and take the acceptance, the snapshot and the recent past."""
    client.say(SUBSCRIBE)
    assert (await client.hear())["type"] == "websocket.accept"
    snapshot = await client.hear_json()
    assert (await client.hear_binary())[:2] == b"\x02\x01"
    assert isinstance(snapshot, dict)
    return snapshot


def test_the_whole_picture_comes_first_and_fits_its_schema() -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            snapshot = await greeted(client)
            valid(snapshot)
            assert snapshot["person"] == {"name": "Stage Left", "roles": ["viewer"]}
            assert snapshot["version"] == "0.1.0"
        assert stage.desk.live.open == 0

    on_stage(act)


def test_frames_and_events_follow() -> None:
    async def act(stage: Stage) -> None:
        feed = stage.console.feed
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            await greeted(client)
            notice = Recorded(2, NoticeReceived(stage.console.now(), "house-1", "warm", "The rack is warm."))
            batch = feed.capture((notice,))
            assert batch is not None
            feed.publish(batch)
            body = await client.hear_json()
            valid(body)
            assert body["events"][0]["words"] == "The rack is warm."
            feed.tick(stage.console.now(), JournalStatus(True, 1, 0))
            heard = [await client.hear() for _ in range(7)]
            texts = [json.loads(message["text"]) for message in heard if message.get("text")]
            frames = [message["bytes"] for message in heard if message.get("bytes")]
            assert sorted(valid(text)["type"] for text in texts) == ["journal", "tables"]  # type: ignore[index]
            assert sorted(frame[2] for frame in frames) == [0, 1, 2, 3, 4]

    on_stage(act)


def test_the_watch_goes_on_while_the_journal_can_t_be_read() -> None:
    async def act(stage: Stage) -> None:
        stage.console.reader.broken = True
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            client.say({**SUBSCRIBE, "since": 0})
            assert (await client.hear())["type"] == "websocket.accept"
            assert (await client.hear_json())["type"] == "snapshot"
            assert (await client.hear_binary())[0] == 2
            stage.console.feed.tick(stage.console.now(), JournalStatus(False, 1, 0, "the disk is full"))
            bodies = [await client.hear_json() for _ in range(2)]
            assert {body["type"] for body in bodies} == {"tables", "journal"}

    on_stage(act)


def test_the_plain_form_comes_as_text_that_fits_its_schema() -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            client.say(
                {**SUBSCRIBE, "form": "json", "columns": {"pack": ["battery_v"]}, "rows": {"pack": ["pack/k01"]}}
            )
            for _ in range(3):
                await client.hear()
            stage.console.feed.tick(stage.console.now(), JournalStatus(True, 1, 0))
            bodies = [valid(await client.hear_json()) for _ in range(3)]
            readings = next(body for body in bodies if isinstance(body, dict) and body["type"] == "readings")
            assert list(readings["rows"]) == ["pack/k01"]

    on_stage(act)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("{", "is not JSON"),
        ('{"type":"subscribe","rate_hz":NaN}', "not finite"),
        ('{"type":"subscribe","rate_hz":1e999}', "not finite"),
        ('{"type":"subscribe","rate_hz":10,"rate_hz":10}', "twice"),
        ('{"type":"subscribe","since":"\\ud800"}', "surrogate"),
        ("[" * 40 + "]" * 40, "deep"),
        ('{"type":"hello"}', "/type"),
        ('{"type":"subscribe","rate_hz":0}', "/rate_hz"),
        ('{"type":"subscribe","rate_hz":"10"}', "/rate_hz"),
        ('{"type":"subscribe","rate_hz":11}', "/rate_hz"),
        ('{"type":"subscribe","since":-1}', "/since"),
        ('{"type":"subscribe","lantern":1}', "not known"),
        ('{"type":"subscribe","columns":{"moon":["x"]}}', "/columns"),
        ('{"type":"subscribe","columns":{"pack":["lantern"]}}', "no column"),
        ('{"type":"subscribe","rows":{"pack":["' + "x" * 70_000 + '"]}}', "at most 65536 bytes"),
    ],
)
def test_a_bad_subscription_is_answered_with_its_reason_and_closed(said: str, words: str) -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            client.say(said)
            reason, code = await client.hear_end()
            assert words in reason
            assert "lantern" not in reason
            assert code == live.NOT_ACCEPTED
        assert stage.desk.live.open == 0

    on_stage(act)


def test_bytes_are_no_subscription() -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            client.to_app.put_nowait({"type": "websocket.receive", "bytes": b"{}"})
            reason, _ = await client.hear_end()
            assert "must be text" in reason

    on_stage(act)


def test_whoever_says_nothing_is_closed_after_five_seconds() -> None:
    async def act(stage: Stage) -> None:
        began_us = stage.clock.monotonic_us()
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            reason, code = await client.hear_end()
            assert "within 5 s" in reason
            assert code == live.NOT_ACCEPTED
            assert stage.clock.monotonic_us() - began_us == 5_000_000

    on_stage(act)


def test_a_client_that_takes_nothing_is_dropped_and_holds_up_nobody() -> None:
    async def act(stage: Stage) -> None:
        async with (
            connected(stage.app, stage.cookie(Role.VIEWER)) as frozen,
            connected(stage.app, stage.cookie(Role.VIEWER)) as awake,
        ):
            await greeted(frozen)
            await greeted(awake)
            frozen.taking.clear()
            for _ in range(100):
                stage.console.feed.tick(stage.console.now(), JournalStatus(True, 1, 0))
                while (await awake.hear()).get("bytes", b"\0\0\0")[2] != 4:
                    pass
                await stage.clock.sleep(0.1)
            assert stage.desk.live.open == 1

    on_stage(act)


def test_the_end_of_the_session_ends_the_connection_at_once() -> None:
    async def act(stage: Stage) -> None:
        secret, session = stage.desk.sessions.open(PersonView("Stage Left", roles_up_to(Role.VIEWER)))
        async with connected(stage.app, secret) as client:
            await greeted(client)
            began_us = stage.clock.monotonic_us()
            stage.desk.sessions.end(session)
            reason, code = await client.hear_end()
            assert reason == "the session has ended"
            assert code == live.NOT_ACCEPTED
            assert stage.clock.monotonic_us() - began_us < 2_000_000

    on_stage(act)


def test_a_session_that_lapses_ends_its_connection_too() -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            await greeted(client)
            await stage.clock.sleep(SESSION_LASTS_S + 2.0)
            reason, _ = await client.hear_end()
            assert reason == "the session has ended"

    on_stage(act)


def test_a_console_that_stops_says_goodbye() -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            await greeted(client)
            stage.desk.live.stopping.set()
            assert await client.hear_end() == ("the console is stopping", live.GOING_AWAY)

    on_stage(act)


def test_a_chatterbox_is_closed() -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            await greeted(client)
            for _ in range(live.CLIENT_MESSAGES_MAXIMUM):
                client.say({"type": "pong"})
            reason, _ = await client.hear_end()
            assert "nothing to say" in reason

    on_stage(act)


@pytest.mark.parametrize(
    ("headers", "status", "code"),
    [
        ({"origin": "http://tern-rock.example"}, 403, "origin-refused"),
        ({"origin": "null"}, 403, "origin-refused"),
        ({"origin": "http://127.0.0.1:9999"}, 403, "origin-refused"),
        ({"origin": "https://127.0.0.1:8017"}, 403, "origin-refused"),
        ({"origin": "", "sec-fetch-site": "cross-site"}, 403, "origin-refused"),
        ({"host": "tern-rock.example:8017"}, 403, "host-refused"),
        ({"host": "127.0.0.1"}, 403, "host-refused"),
    ],
)
def test_another_site_s_websocket_is_refused_with_a_problem(headers: dict[str, str], status: int, code: str) -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, stage.cookie(Role.ENGINEER), **headers) as client:
            start, body = await client.hear(), await client.hear()
            assert (start["type"], start["status"]) == ("websocket.http.response.start", status)
            assert json.loads(body["body"])["code"] == code

    on_stage(act)


@pytest.mark.parametrize("secret", [None, "guessed", ""])
def test_without_a_session_there_is_no_connection(secret: str | None) -> None:
    async def act(stage: Stage) -> None:
        async with connected(stage.app, secret) as client:
            start, body = await client.hear(), await client.hear()
            assert (start["status"], json.loads(body["body"])["code"]) == (401, "session-missing")

    on_stage(act)


def test_at_the_bound_of_connections_one_more_is_refused() -> None:
    async def act(stage: Stage) -> None:
        stage.desk.live.open = LIVE_CONNECTIONS_MAXIMUM
        async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
            start, body = await client.hear(), await client.hear()
            assert (start["status"], json.loads(body["body"])["code"]) == (429, "limit-reached")
        assert stage.desk.live.open == LIVE_CONNECTIONS_MAXIMUM

    on_stage(act)


def test_a_client_that_goes_leaves_nothing_behind() -> None:
    async def act(stage: Stage) -> None:
        for _ in range(3):
            async with connected(stage.app, stage.cookie(Role.VIEWER)) as client:
                await greeted(client)
        assert stage.desk.live.open == 0
        assert len(asyncio.all_tasks()) == 1

    on_stage(act)
