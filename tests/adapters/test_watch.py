"""Heartbeats that stop, greetings that prove nothing, and defects of ours in the midst of it."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable

import pytest

from fleet.model.device import ContactState
from fleet.model.observation import Contact, Observation
from fleet.protocol import messages
from tests.adapters.rig import DEVICE_ID, Heard
from tests.adapters.watched import Watched, on_virtual_time


def test_silence_is_late_after_two_seconds_and_lost_after_five_and_ends_by_itself() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(10.5)
        device = watched.devices[DEVICE_ID]
        device.silent = True
        await watched.clock.sleep(20.0)
        device.silent = False
        await watched.clock.sleep(10.0)
        wanted = [ContactState.CONNECTING, ContactState.FRESH, ContactState.LATE, ContactState.LOST, ContactState.FRESH]
        assert watched.states(DEVICE_ID)[:4] == wanted[:4]
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH
        first = {state: contact.at for contact in reversed(watched.heard.contacts) for state in (contact.state,)}
        beat = max(c.at for c in watched.heard.contacts if c.state is ContactState.FRESH and c.at < first[wanted[2]])
        assert first[ContactState.LATE].seconds_since(beat) == pytest.approx(2.0, abs=1e-3)
        assert first[ContactState.LOST].seconds_since(beat) == pytest.approx(5.0, abs=1e-3)

    on_virtual_time(check, DEVICE_ID)


def test_a_frozen_device_that_answers_is_lost_and_must_prove_itself() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(10.5)
        device = watched.devices[DEVICE_ID]
        device.frozen = True
        await watched.clock.sleep(10.0)
        lost_at = next(c.at for c in watched.heard.contacts if c.state is ContactState.LOST)
        frames = len(watched.heard.frames)
        await watched.clock.sleep(30.0)
        assert device.connections > 2, "it was tried again"
        after = [c for c in watched.heard.contacts if c.at > lost_at]
        assert ContactState.FRESH not in {contact.state for contact in after}
        assert len(watched.heard.frames) == frames
        device.frozen = False
        await watched.clock.sleep(10.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH

    on_virtual_time(check, DEVICE_ID)


def test_a_device_that_greets_and_never_beats_is_lost_however_often_it_comes_back() -> None:
    async def check(watched: Watched) -> None:
        device = watched.devices[DEVICE_ID]
        device.frozen = True
        for boot in range(24):
            await watched.clock.sleep(2.5)
            device.boot_id = f"boot-{boot + 2}"
        assert device.connections > 10
        fresh = [contact for contact in watched.heard.contacts if contact.state is ContactState.FRESH]
        assert len(fresh) == 1, "the first greeting alone is taken on trust"
        assert ContactState.LOST in watched.states(DEVICE_ID)

    on_virtual_time(check, DEVICE_ID)


def test_a_device_that_keeps_describing_itself_and_never_beats_is_lost_all_the_same() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(5.5)
        device = watched.devices[DEVICE_ID]
        device.frozen = True
        with contextlib.suppress(ConnectionError):
            for _ in range(12):
                await device.say(messages.Described("digest-2"))
                await watched.clock.sleep(0.5)
        states = watched.states(DEVICE_ID)
        assert states[:4] == [ContactState.CONNECTING, ContactState.FRESH, ContactState.LATE, ContactState.LOST]

    on_virtual_time(check, DEVICE_ID)


def test_what_an_unproven_device_tells_beside_its_values_is_not_lost() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(5.5)
        device = watched.devices[DEVICE_ID]
        device.frozen = True
        await watched.clock.sleep(8.0)
        frames = len(watched.heard.frames)
        exact: messages.ExactReadings = {f"{DEVICE_ID}/channel/1": {"identity": "pack/k99"}}
        frame = device.frame(4)
        await device.say(messages.Readings(4, frame.sequence, frame.device_time_us, frame.values, {}, exact))
        await watched.clock.sleep(0.1)
        assert len(watched.heard.frames) == frames
        assert watched.heard.observations[-1].exact == exact

    on_virtual_time(check, DEVICE_ID)


def never(item: Observation | Contact) -> bool:
    del item
    return False


class Brittle(Heard):
    """A sink with a defect: it fails at whatever ``breaks_at`` says."""

    def __init__(self) -> None:
        super().__init__()
        self.breaks_at: Callable[[Observation | Contact], bool] = never

    def __call__(self, item: Observation | Contact) -> None:
        super().__call__(item)
        if self.breaks_at(item):
            raise ArithmeticError("a defect")


def brittle(watched: Watched, breaks_at: Callable[[Observation | Contact], bool]) -> None:
    assert isinstance(watched.heard, Brittle)
    watched.heard.breaks_at = breaks_at


@pytest.mark.parametrize("timed", [False, True], ids=["as it is heard", "by a timer"])
def test_a_defect_that_one_message_meets_ends_that_contact_alone(timed: bool, caplog: pytest.LogCaptureFixture) -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(2.25)
        device = watched.devices[DEVICE_ID]
        failing = asyncio.create_task(watched.supervisor.failed())
        brittle(watched, lambda item: isinstance(item, Observation))
        frame = device.frame(4)
        await device.say(messages.Readings(4, frame.sequence, frame.device_time_us, frame.values) if timed else frame)
        await watched.clock.sleep(0.5)
        assert watched.states(DEVICE_ID)[-1] is ContactState.BAD
        assert "internal error; the log has it" in watched.reasons(DEVICE_ID)
        brittle(watched, never)
        await watched.clock.sleep(10.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH
        assert not failing.done()
        await watched.supervisor.stop()
        await failing

    on_virtual_time(check, DEVICE_ID, heard=Brittle())
    assert "failed by a defect" in caplog.text


@pytest.mark.parametrize("state", [ContactState.LATE, ContactState.LOST, ContactState.BAD])
def test_a_defect_in_the_watch_itself_is_raised_to_whoever_waits_for_it(state: ContactState) -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(2.5)
        device = watched.devices[DEVICE_ID]
        brittle(watched, lambda item: isinstance(item, Contact) and item.state is state)
        if state is ContactState.BAD:
            await device.say_raw(b"no")
        else:
            device.silent = True
        with pytest.raises(ArithmeticError):
            async with asyncio.timeout(10.0):
                await watched.supervisor.failed()

    on_virtual_time(check, DEVICE_ID, heard=Brittle())
