"""What the open-JSON adapter does beyond the contract of all adapters."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace

import pytest

from fleet.adapters.adapter import Transport
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.open_json_facts import answer_of_refusal, layout_of
from fleet.clock import LoopClock
from fleet.config import DeviceAddress
from fleet.errors import ContactFailed, MalformedMessage
from fleet.model.device import ContactState
from fleet.model.observation import Answer
from fleet.model.quality import Quality
from fleet.model.settings import Cause
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal
from tests.adapters.fake_device import PACK, FakeDevice
from tests.adapters.rig import DEVICE_ID, Heard, Rig, command, connected
from tests.virtual_time import run_virtual


def in_contact(check: Callable[[Rig], Awaitable[None]]) -> None:
    async def main() -> None:
        async with connected(OpenJsonAdapter) as rig:
            await rig.clock.sleep(0.05)
            await check(rig)

    run_virtual(main())


def notices(rig: Rig) -> list[str]:
    return [notice.code for item in rig.heard.observations for notice in item.notices]


def test_a_new_description_is_fetched_with_settings_and_layout_and_contact_stays() -> None:
    async def check(rig: Rig) -> None:
        before = rig.heard.frames[-1].layout
        rig.device.description = replace(rig.device.description, form="in a case")
        await rig.device.say(messages.Described("digest-2"), messages.Described("digest-3"))
        await rig.clock.sleep(0.05)
        described = [contact for contact in rig.heard.contacts if contact.description is not None]
        assert [contact.state for contact in described] == [ContactState.FRESH] * 3, "once more after the second"
        assert described[-1].description == rig.device.description
        assert rig.device.connections == 1
        assert [report.address for report in rig.heard.reports].count(PACK) == 3
        assert rig.heard.frames[-1].layout is not before
        await rig.device.say(rig.device.change(PACK, {"low_cut_hz": 40}, Cause.PANEL))
        await rig.clock.sleep(0.05)
        assert rig.heard.reports[-1].settings == {"low_cut_hz": 40}

    in_contact(check)


def test_frames_and_heartbeats_that_were_held_up_on_the_way_are_not_fresh() -> None:
    async def check(rig: Rig) -> None:
        rig.device.time_step_us = -3_000_000
        subscription = 4
        await rig.device.say(rig.device.frame(subscription))
        await rig.clock.sleep(0.05)
        qualities = rig.heard.frames[-1].qualities
        assert qualities is not None
        assert qualities.tolist() == [Quality.UNCERTAIN, Quality.BAD, Quality.ABSENT, Quality.UNCERTAIN]
        await rig.clock.sleep(5.0)
        assert [contact for contact in rig.heard.contacts if contact.description is None] == []

    in_contact(check)


@pytest.mark.parametrize("plain", [True, False])
def test_a_frame_says_how_old_it_is_at_the_least(plain: bool) -> None:
    async def check(rig: Rig) -> None:
        rig.device.time_step_us = -800_000
        frame = rig.device.frame(4)
        said = messages.Readings(4, frame.sequence, frame.device_time_us, frame.values) if plain else frame
        await rig.device.say(said)
        await rig.clock.sleep(0.2)
        assert rig.heard.frames[-1].age_us == pytest.approx(800_000, abs=100)
        assert rig.heard.frames[0].age_us == 0

    in_contact(check)


def test_missing_frames_are_noticed() -> None:
    async def check(rig: Rig) -> None:
        rig.device.sequence += 3
        await rig.device.say(rig.device.frame(4))
        await rig.clock.sleep(0.05)
        assert notices(rig) == ["readings gap"]
        assert rig.heard.frames[-1].sequence == 5

    in_contact(check)


def test_a_read_back_that_is_refused_is_noticed_and_contact_stays() -> None:
    async def check(rig: Rig) -> None:
        await rig.adapter.read_back("pack/k99")
        await rig.clock.sleep(0.05)
        assert notices(rig) == ["unreachable"]
        await rig.adapter.read_back(PACK)
        await rig.clock.sleep(0.05)
        assert rig.heard.observations[-1].read_back == (PACK,)

    in_contact(check)


def test_refused_read_backs_are_noticed_once_until_the_answer_changes() -> None:
    async def check(rig: Rig) -> None:
        answers = iter(["busy", "busy", "unreachable", "", "unreachable", "unreachable"])
        give, refuse = rig.device._read, rig.device.session.refuse

        def answer(request_id: int, read: messages.Read) -> None:
            word = next(answers)
            if not word:
                give(request_id, read)
                return
            refuse(request_id, ErrorCode.BUSY if word == "busy" else ErrorCode.UNREACHABLE, "not now")

        rig.device._read = answer  # type: ignore[method-assign]  # Makes the device refuse.
        for _ in range(6):
            await rig.adapter.read_back(PACK)
            await rig.clock.sleep(0.05)
        assert notices(rig) == ["busy", "unreachable", "unreachable"]
        said = [notice.words for item in rig.heard.observations for notice in item.notices]
        assert said[0] == f"read {PACK}: busy: not now"

    in_contact(check)


def test_a_device_that_answers_nothing_holds_up_no_more_than_so_many_requests() -> None:
    async def check(rig: Rig) -> None:
        rig.device.mood = "ignore"
        for number in range(64):
            await rig.adapter.write(command(f"c-{number}"))
        with pytest.raises(ContactFailed, match="unanswered requests"):
            await rig.adapter.write(command("c-64"))

    in_contact(check)


def test_what_a_device_says_while_it_is_greeted_follows_its_introduction() -> None:
    class Chatty(FakeDevice):
        """Speaks while it is being read."""

        def _read(self, request_id: int, read: messages.Read) -> None:
            self.session.notify(self.change(PACK, {"low_cut_hz": 50}, Cause.PANEL))
            self.session.notify(messages.Notice("cells low", "Change the cells soon."))
            super()._read(request_id, read)
            self.session.notify(self.change(PACK, {"low_cut_hz": 60}, Cause.PANEL))

    async def main() -> None:
        rig = Rig(OpenJsonAdapter)
        rig.device = Chatty(DEVICE_ID, rig.clock)
        rig.network.add(rig.device)
        await rig.adapter.connect()
        assert rig.heard.contacts == rig.heard.items[:1]
        assert notices(rig) == ["cells low"]
        cuts = [report.settings["low_cut_hz"] for report in rig.heard.reports if report.address == PACK]
        assert cuts == [50, 60], "the read has the first change, the second comes after it"
        await rig.adapter.close()
        await rig.network.close()

    run_virtual(main())


class Deaf:
    """A transport whose other end takes nothing."""

    def __init__(self) -> None:
        self.closed = asyncio.Event()

    async def send(self, message: bytes) -> None:
        await self.closed.wait()
        raise ConnectionError(f"{len(message)} bytes were not taken")

    async def receive(self) -> bytes | str:
        await self.closed.wait()
        raise ConnectionError("closed")

    async def close(self) -> None:
        self.closed.set()


def test_an_end_that_takes_nothing_is_dropped() -> None:
    async def main() -> None:
        deaf = Deaf()

        async def connect(_url: str) -> Transport:
            return deaf

        address = DeviceAddress(DEVICE_ID, "ws://127.0.0.1:1/")
        adapter = OpenJsonAdapter(address, connect, LoopClock(0), Heard())
        with pytest.raises(ContactFailed, match="took nothing for 2 s"):
            await adapter.connect()
        assert deaf.closed.is_set()

    run_virtual(main())


@pytest.mark.parametrize(
    ("code", "answer"),
    [
        (-32012, Answer.REFUSED),
        (-32013, Answer.REFUSED),
        (-32015, Answer.REFUSED),
        (-32016, Answer.PARTLY_DONE),
        (-32017, Answer.UNKNOWN),
        (-32603, Answer.UNKNOWN),
        (-1, Answer.REFUSED),
    ],
)
def test_error_answers_to_a_write(code: int, answer: Answer) -> None:
    refusal = Refusal(1, "write", code, "word", "words", {"fields": {"rf_power_mw": "cells too low"}})
    got = answer_of_refusal("c-1", refusal)
    assert (got.answer, got.reason) == (answer, "word: words")
    assert got.refused_fields == {"rf_power_mw": "cells too low"}


@pytest.mark.parametrize(
    "layout",
    [
        [messages.LayoutEntry("pack/k99", ["battery_v"])],
        [messages.LayoutEntry(PACK, ["battery_v", "battery_v"])],
        [messages.LayoutEntry(PACK, ["battery_v"]), messages.LayoutEntry(PACK, ["battery_v"])],
        [messages.LayoutEntry(PACK, [f"reading_{number}" for number in range(65_537)])],
    ],
    ids=["unknown", "twice", "twice apart", "too many"],
)
def test_a_layout_that_makes_no_sense_is_malformed(layout: list[messages.LayoutEntry]) -> None:
    with pytest.raises(MalformedMessage):
        layout_of(messages.SubscribeResult(1, 100, layout, 1), frozenset({PACK}))
