"""What a conforming device does, looked at on the wire: the checklist of the specification, without any of our ends."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from websockets.asyncio.client import connect
from websockets.datastructures import Headers
from websockets.exceptions import InvalidHandshake
from websockets.typing import Origin, Subprotocol

from tests.examples.subject import Console, Subject, connected, described

Check = Callable[[Subject], Awaitable[None]]
NAME = Subprotocol("redpoll.device.1")


async def pack_of(console: Console, device_id: str) -> dict[str, Any]:
    """The pack's address, revision and settings."""
    read = await console.ask("read", target=device_id)
    found: dict[str, Any] = next(each for each in read["result"]["settings"] if each["address"].startswith("pack/"))
    return found


async def write(console: Console, pack: dict[str, Any], command_id: str, **changes: object) -> dict[str, Any]:
    more = {"command_id": command_id, "revision": pack["revision"], "changes": changes}
    return await console.ask("write", target=pack["address"], **more)


async def upgrades_only_consoles(subject: Subject) -> None:
    for ways in ({"subprotocols": None}, {"subprotocols": [NAME], "origin": Origin("http://a.example")}):
        with pytest.raises(InvalidHandshake):
            await connect(subject.url, compression=None, additional_headers=Headers(), **ways)


async def refuses_another_major_version(subject: Subject) -> None:
    async with connected(subject) as console:
        answer = await console.ask("hello", target="", versions=["2.0"], client="a test")
        assert answer["error"]["code"] == -32018
        assert answer["error"]["data"]["versions"] == ["1.0"]
        assert await console.ended()


async def answers_what_it_does_not_know_and_goes_on(subject: Subject) -> None:
    async with described(subject) as (console, device_id):
        codes = [
            (await console.ask("levitate", target=device_id))["error"]["code"],
            (await console.ask("read", target=17))["error"]["code"],
            (await console.ask("read"))["error"]["code"],
            (await console.ask("read", target="elsewhere"))["error"]["code"],
        ]
        assert codes == [-32601, -32602, -32602, -32010]
        assert "result" in await console.ask("read", target=device_id)


async def ends_on_what_is_no_message(subject: Subject) -> None:
    for text in ("no JSON", "[]", '{"jsonrpc":"2.0","id":1,"method":"hello","params":{"a":NaN}}', "[" * 100_000):
        async with connected(subject) as console:
            await console.send(text)
            assert (await console.hear())["error"]["data"]["code"] in {"parse error", "invalid request"}
            assert await console.ended()


async def ends_out_of_turn(subject: Subject) -> None:
    async with connected(subject) as console:
        await console.send('{"jsonrpc":"2.0","id":1,"method":"read","params":{"target":"x"}}')
        assert (await console.hear())["error"]["code"] == -32600
        assert await console.ended()
    async with described(subject) as (console, _):
        await console.send('{"jsonrpc":"2.0","id":9,"method":"hello","params":{"target":"","versions":["1.0"]}}')
        assert (await console.hear())["error"]["code"] == -32600
        assert await console.ended()


async def beats_with_a_counter_that_rises(subject: Subject) -> None:
    async with described(subject) as (console, _):
        first, second = await console.next_told("heartbeat"), await console.next_told("heartbeat")
        assert second["counter"] > first["counter"]
        assert second["device_time_us"] > first["device_time_us"]
        assert second["boot_id"] == first["boot_id"]


async def numbers_its_frames_and_says_null_for_absent(subject: Subject) -> None:
    async with described(subject) as (console, device_id):
        answer = await console.ask("subscribe", target=device_id, interval_ms=100)
        length = sum(len(entry["readings"]) for entry in answer["result"]["layout"])
        frames = [await console.next_told("readings") for _ in range(3)]
        assert [frame["sequence"] - frames[0]["sequence"] for frame in frames] == [0, 1, 2]
        assert {len(frame["values"]) for frame in frames} == {length}
        assert None in frames[0]["values"]
        assert frames[0]["exact"]
        ended = {"target": device_id, "subscription": answer["result"]["subscription"]}
        assert "result" in await console.ask("unsubscribe", **ended)
        told = len(console.told)
        await console.next_told("heartbeat")
        assert [each["method"] for each in console.told[told:]] == ["heartbeat"]


async def bounds_its_subscriptions(subject: Subject) -> None:
    async with described(subject) as (console, device_id):
        answers = [await console.ask("subscribe", target=device_id, interval_ms=1000) for _ in range(17)]
        assert [answer for answer in answers[:16] if "error" in answer] == []
        assert answers[16]["error"]["code"] == -32013


async def refuses_bad_writes_and_changes_nothing(subject: Subject) -> None:
    async with described(subject) as (console, device_id):
        before = await pack_of(console, device_id)
        stale = {**before, "revision": before["revision"].split(".")[0] + ".999"}
        codes = [
            (await write(console, before, "bad-1", low_cut_hz=85))["error"]["code"],
            (await write(console, before, "bad-2", low_cut_hz=1000))["error"]["code"],
            (await write(console, before, "bad-3", low_cut_hz=True))["error"]["code"],
            (await write(console, before, "bad-4", levity=3))["error"]["code"],
            (await write(console, stale, "bad-5", low_cut_hz=60))["error"]["code"],
        ]
        assert codes == [-32011, -32011, -32011, -32010, -32015]
        assert await pack_of(console, device_id) == before


async def does_a_write_once_and_tells_everybody(subject: Subject) -> None:
    async with described(subject) as (console, device_id), described(subject) as (other, _):
        before = await pack_of(console, device_id)
        assert (await write(console, before, "good-1", low_cut_hz=140))["result"]["state"] == "accepted"
        changed = await console.next_told("changed")
        assert (changed["cause"], changed["settings"], changed["command_id"]) == (
            "command",
            {"low_cut_hz": 140},
            "good-1",
        )
        assert await console.next_told("outcome") == {"command_id": "good-1", "outcome": "done"}
        assert (await other.next_told("changed"))["cause"] == "other client"
        assert (await write(console, before, "good-1", low_cut_hz=140))["result"]["state"] == "accepted"
        after = await pack_of(console, device_id)
        assert (after["revision"], after["settings"]["low_cut_hz"]) == (changed["revision"], 140)
        assert [each for each in other.told if each["method"] == "outcome"] == []


async def tells_of_its_panel(subject: Subject) -> None:
    async with described(subject) as (console, _):
        subject.turn(30)
        changed = await console.next_told("changed")
        assert (changed["cause"], changed["settings"]) == ("panel", {"low_cut_hz": 30})
        assert not changed.get("command_id")


async def does_its_act_and_checks_the_arguments(subject: Subject) -> None:
    async with described(subject) as (console, device_id):
        asked = {"target": device_id, "act": "identify"}
        codes = [
            (await console.ask("act", target=device_id, command_id="x-1", act="levitate", arguments={}))["error"][
                "code"
            ],
            (await console.ask("act", **asked, command_id="x-2", arguments={"seconds": 600}))["error"]["code"],
        ]
        assert codes == [-32010, -32011]
        taken = await console.ask("act", **asked, command_id="x-3", arguments={"seconds": 1})
        assert taken["result"]["state"] == "accepted"
        assert await console.next_told("outcome") == {"command_id": "x-3", "outcome": "done"}


async def says_when_there_is_nothing_to_cancel(subject: Subject) -> None:
    async with described(subject) as (console, device_id):
        pack = await pack_of(console, device_id)
        answer = await console.ask("cancel", target=pack["address"], command_id="never")
        assert answer["result"]["cancelled"] is False


CHECKS: tuple[Check, ...] = (
    upgrades_only_consoles,
    refuses_another_major_version,
    answers_what_it_does_not_know_and_goes_on,
    ends_on_what_is_no_message,
    ends_out_of_turn,
    beats_with_a_counter_that_rises,
    numbers_its_frames_and_says_null_for_absent,
    bounds_its_subscriptions,
    refuses_bad_writes_and_changes_nothing,
    does_a_write_once_and_tells_everybody,
    tells_of_its_panel,
    does_its_act_and_checks_the_arguments,
    says_when_there_is_nothing_to_cancel,
)
