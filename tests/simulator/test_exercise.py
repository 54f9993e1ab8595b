from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed

from fleet.errors import PortTaken
from simulator.exercise import SUBPROTOCOL, ExerciseServer
from simulator.live_faults import ALL_ACTS
from simulator.scenario_checks import load
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.desk import Desk
from tests.simulator.small_stage import fleet_of, two_channels

DOCUMENT = Path(__file__).parents[2] / "docs" / "protocol" / "exercise.md"
TOKEN = "a-token-of-the-test"
WITHIN_S = 20.0


class Exercise:
    """A fleet, an exercise server that isn't listening, and the world's time."""

    def __init__(self) -> None:
        self.fleet: VirtualFleet = fleet_of(two_channels())
        self.desk = Desk(self.fleet, "rack-1").enter()
        self.server = ExerciseServer(self.fleet, lambda: self.desk.now_us, TOKEN)

    def ask(self, method: str, **params: object) -> dict[str, Any]:
        """The answer to one request."""
        request = {"jsonrpc": "2.0", "id": 1, "method": method, "params": params}
        answer: dict[str, Any] = json.loads(self.server.answer(json.dumps(request)))
        return answer


@pytest.fixture
def exercise() -> Exercise:
    return Exercise()


def test_silence_and_speech(exercise: Exercise) -> None:
    assert exercise.ask("silence", device_id="rack-1", seconds=None)["result"] == {}
    before = len(exercise.desk.wire)
    exercise.desk.advance(60.0)
    assert len(exercise.desk.wire) == before
    exercise.ask("speak", device_id="rack-1")
    exercise.desk.advance(0.1)
    assert len(exercise.desk.wire) > before


def test_silence_for_a_while(exercise: Exercise) -> None:
    exercise.ask("silence", device_id="rack-1", seconds=2.0)
    before = len(exercise.desk.wire)
    exercise.desk.advance(1.9)
    assert len(exercise.desk.wire) == before
    exercise.desk.advance(0.1)
    assert len(exercise.desk.wire) > before


def test_return_links_are_held_dropped_and_restored(exercise: Exercise) -> None:
    link = exercise.fleet.world.links[0]
    states = []
    for method in ("hold_return_link", "drop_return_link", "restore_return_link"):
        exercise.ask(method, pack="pack/p1")
        states.append((link.held, link.dropped))
    assert states == [(True, False), (True, True), (False, False)]


def test_panels_are_turned_and_wrong_turns_refused(exercise: Exercise) -> None:
    exercise.ask("turn_panel", address="rack-1/channel/1", changes={"trim_db": 3})
    assert exercise.desk.settings("rack-1/channel/1")["trim_db"] == 3.0
    for changes in ({"trim_db": 99}, {"colour": 1}, {}):
        assert "error" in exercise.ask("turn_panel", address="rack-1/channel/1", changes=changes)
    assert exercise.desk.settings("rack-1/channel/1")["trim_db"] == 3.0


def test_cells_are_killed_and_the_truth_is_told(exercise: Exercise) -> None:
    exercise.desk.advance(1.0)
    before = exercise.ask("truth", address="pack/p1")["result"]
    exercise.ask("kill_cells", pack="pack/p1")
    exercise.desk.advance(1.0)
    after = exercise.ask("truth", address="pack/p1")["result"]
    assert (before["radiating"], after["radiating"]) == (True, False)
    assert after["cells_remaining_fraction"] == 0.0
    assert after["carrier_level_dbm"][0] < -100.0 < before["carrier_level_dbm"][0]


def test_the_truth_of_everything_and_of_a_receiver(exercise: Exercise) -> None:
    assert set(exercise.ask("truth")["result"]) == {"pack/p1", "pack/p2"}
    told = exercise.ask("truth", address="rack-1/carrier/1")["result"]
    assert told["settings"] == {"frequency_hz": 520_000_000}
    assert told["silent"] is False


def test_a_reboot_is_another_boot(exercise: Exercise) -> None:
    before = exercise.fleet.devices["rack-1"].boot_id
    assert exercise.ask("reboot", device_id="rack-1")["result"]["boot_id"] != before


def test_time(exercise: Exercise) -> None:
    exercise.desk.advance(1.2)
    assert exercise.ask("time")["result"] == {"world_time_us": 1_200_000, "blocks": 12, "seed": 7}


@pytest.mark.parametrize(
    ("method", "params", "code"),
    [
        ("explode", {}, -32601),
        ("silence", {"device_id": "rack-9"}, -32010),
        ("silence", {"device_id": "rack-1", "seconds": -1}, -32602),
        ("silence", {"device_id": "rack-1", "second": 1}, -32602),
        ("silence", {}, -32602),
        ("kill_cells", {"pack": "rack-1"}, -32010),
        ("truth", {"address": "not an address"}, -32011),
        ("truth", {"address": "pack/none"}, -32010),
        ("turn_panel", {"address": "rack-9", "changes": {"name": "x"}}, -32010),
    ],
)
def test_what_cannot_be_done_is_refused(exercise: Exercise, method: str, params: dict[str, Any], code: int) -> None:
    assert exercise.ask(method, **params)["error"]["code"] == code


_SERVER = Exercise().server


@given(data=some.binary(max_size=100) | some.text(max_size=100))
def test_no_bytes_raise_anything(data: bytes | str) -> None:
    assert "error" in json.loads(_SERVER.answer(data))


# ---------------------------------------------------------------- over a socket


@asynccontextmanager
async def _listening() -> AsyncIterator[str]:
    server = Exercise().server
    url = await server.start()
    try:
        yield url
    finally:
        await server.stop()


def _connect(url: str, token: str | None) -> connect:
    headers = {} if token is None else {"Authorization": f"Bearer {token}"}
    return connect(url, subprotocols=[SUBPROTOCOL], additional_headers=headers, compression=None, proxy=None)


async def _say(connection: ClientConnection, method: str, **params: object) -> dict[str, Any]:
    await connection.send(json.dumps({"jsonrpc": "2.0", "id": 5, "method": method, "params": params}))
    async with asyncio.timeout(WITHIN_S):
        answer: dict[str, Any] = json.loads(await connection.recv())
    return answer


async def test_the_token_comes_in_a_header_or_first() -> None:
    async with _listening() as url:
        async with _connect(url, TOKEN) as connection:
            assert (await _say(connection, "time"))["id"] == 5
        async with _connect(url, None) as connection:
            assert (await _say(connection, "hello", token=TOKEN))["result"] == {}
            assert "result" in await _say(connection, "time")


@pytest.mark.parametrize("token", [None, "", "wrong", "a-token-of-the-tesT", "ä"])
async def test_without_the_token_nothing_is_done(token: str | None) -> None:
    async with _listening() as url, _connect(url, None) as connection:
        params = {} if token is None else {"token": token}
        with pytest.raises(ConnectionClosed, match="token"):
            await _say(connection, "hello" if params else "time", **params)


async def test_a_named_port_that_is_taken_fails_in_words() -> None:
    async with _listening() as url:
        port = int(url.rpartition(":")[2])
        with pytest.raises(PortTaken, match=str(port)):
            await Exercise().server.start(port)


def test_every_act_is_documented_with_an_example_that_works() -> None:
    requests = [line for line in DOCUMENT.read_text().splitlines() if line.startswith('{"jsonrpc"')]
    assert {json.loads(line)["method"] for line in requests} == set(ALL_ACTS)
    stages = [ExerciseServer(fleet_of(load(name)), lambda: 1_000_000, TOKEN) for name in ("tern-rock", "kitchen-sink")]
    answers = {line: json.loads(stages["sink-" in line].answer(line)) for line in requests}
    assert [line for line, answer in answers.items() if "result" not in answer] == []
