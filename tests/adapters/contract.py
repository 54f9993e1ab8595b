"""What every adapter must do, whatever its device speaks. A new kind adds itself to ``ADAPTERS`` in test_contract.py.

Each check gets a rig of its own in contact with a good device, on virtual time, so that their order means nothing; one
that fails tells at which microsecond what was heard (``judged``). What a device may lack has a profile of its own:
``ACT_CHECKS`` and, in ``contract_leases`` and ``contract_gateway``, leases and gateways.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable

import pytest

from fleet.errors import ContactFailed, ProtocolError
from fleet.model.act import ActProgress, LevelStretch
from fleet.model.device import ContactState
from fleet.model.observation import Answer, Contact
from fleet.model.quality import Quality
from fleet.model.settings import Cause
from tests.adapters.fake_device import PACK
from tests.adapters.rig import DEVICE_ID, Rig, act, command

Check = Callable[[Rig], Awaitable[None]]


async def judged(check: Check, rig: Rig) -> None:
    """Run a check; when it fails, the error bears the exact times of all that was heard."""
    began_us = rig.clock.monotonic_us()
    try:
        await check(rig)
    except AssertionError as error:
        at_us = rig.clock.monotonic_us() - began_us
        heard = [f"{item.at.monotonic_us - began_us:>12} us  {item!r:.300}" for item in rig.heard.items]
        error.add_note("\n".join([f"{check.__name__} failed {at_us} us after the introduction; heard were", *heard]))
        raise


async def introduces_the_device_first(rig: Rig) -> None:
    first = rig.heard.items[0]
    assert isinstance(first, Contact)
    assert first.state is ContactState.FRESH
    assert first.description == rig.described
    assert first.boot_id == rig.device.boot_id


async def reports_all_settings_complete(rig: Rig) -> None:
    reported = {report.address: report for report in rig.heard.reports}
    assert set(reported) == set(rig.device.settings)
    assert all(report.complete for report in reported.values())
    assert reported[PACK].settings == rig.device.settings[PACK]
    assert reported[PACK].revision == "boot-1.1"


async def hands_readings_on_with_qualities(rig: Rig) -> None:
    await rig.clock.sleep(0.05)
    frame = rig.heard.frames[0]
    assert frame.layout.cells[0] == (f"{DEVICE_ID}/carrier/1/branch/a", "rf_dbm")
    assert frame.values[:2].tolist() == [-55.0, -61.5]
    assert frame.values[2] != frame.values[2], "absent is NaN, never zero"
    assert frame.qualities is not None
    assert frame.qualities.tolist() == [Quality.GOOD, Quality.BAD, Quality.ABSENT, Quality.GOOD]


async def hands_exact_readings_on(rig: Rig) -> None:
    assert rig.heard.observations[0].exact == {f"{DEVICE_ID}/channel/1": {"identity": PACK}}


async def says_fresh_at_each_heartbeat_that_moved_on(rig: Rig) -> None:
    await rig.clock.sleep(4.5)
    fresh = [contact for contact in rig.heard.contacts if contact.description is None]
    assert [contact.state for contact in fresh] == [ContactState.FRESH] * 3, "the first of four proves nothing"


async def a_frozen_device_is_not_fresh(rig: Rig) -> None:
    rig.device.frozen = True
    await rig.clock.sleep(10.0)
    assert [contact for contact in rig.heard.contacts if contact.description is None] == []


async def a_write_is_answered_and_reported(rig: Rig) -> None:
    await rig.adapter.write(command())
    await rig.clock.sleep(0.05)
    report = rig.heard.reports[-1]
    assert (report.address, report.settings, report.cause) == (PACK, {"low_cut_hz": 120}, Cause.COMMAND)
    assert (report.command_id, report.revision, report.complete) == ("c-1", "boot-1.2", False)
    assert answers(rig) == [Answer.ACCEPTED, Answer.DONE]


async def a_refusal_carries_its_reason(rig: Rig) -> None:
    rig.device.mood = "refuse"
    await rig.adapter.write(command(low_cut_hz=170))
    await rig.clock.sleep(0.05)
    answer = rig.heard.observations[-1].answers[0]
    assert (answer.command_id, answer.answer) == ("c-1", Answer.REFUSED)
    assert "at most 160" in answer.reason


async def a_waiting_write_can_be_cancelled(rig: Rig) -> None:
    rig.device.mood = "wait"
    await rig.adapter.write(command())
    await rig.adapter.cancel(command())
    await rig.clock.sleep(0.05)
    assert answers(rig) == [Answer.WAITING_FOR_WAKE, Answer.CANCELLED]


async def nothing_is_sent_twice(rig: Rig) -> None:
    rig.device.mood = "ignore"
    await rig.adapter.write(command())
    await rig.clock.sleep(30.0)
    assert answers(rig) == []
    assert rig.device.numbers[PACK] == 1


async def a_read_back_ends_with_its_address(rig: Rig) -> None:
    rig.device.settings[PACK]["low_cut_hz"] = 60
    await rig.adapter.read_back(PACK)
    await rig.clock.sleep(0.05)
    last = rig.heard.observations[-1]
    assert last.read_back == (PACK,)
    assert last.reports[0].complete
    assert last.reports[0].settings["low_cut_hz"] == 60


async def a_panel_change_is_reported(rig: Rig) -> None:
    await rig.device.say(rig.device.change(PACK, {"low_cut_hz": 40}, Cause.PANEL))
    await rig.clock.sleep(0.05)
    report = rig.heard.reports[-1]
    assert (report.settings, report.cause, report.command_id) == ({"low_cut_hz": 40}, Cause.PANEL, "")


async def after_the_end_every_call_fails_in_words(rig: Rig) -> None:
    await rig.adapter.close()
    await rig.adapter.close()
    for call in (rig.adapter.write(command()), rig.adapter.cancel(command()), rig.adapter.read_back(PACK)):
        with pytest.raises(ContactFailed, match="not in contact"):
            await call


async def an_end_at_the_device_ends_the_run(rig: Rig) -> None:
    assert rig.device.transport is not None
    await rig.device.transport.close()
    with pytest.raises(ContactFailed):
        await ended(rig)


async def garbage_ends_the_run(rig: Rig) -> None:
    heard = len(rig.heard.items)
    await rig.device.say_raw(b"\x00garbage")
    with pytest.raises(ProtocolError):
        await ended(rig)
    assert len(rig.heard.items) - heard <= 1, "nothing but the first frame"


def answers(rig: Rig) -> list[Answer]:
    return [answer.answer for item in rig.heard.observations for answer in item.answers]


async def ended(rig: Rig) -> None:
    """Await the rig's run, which must end by itself within a second."""
    running = next(task for task in asyncio.all_tasks() if task.get_name() == "run")
    async with asyncio.timeout(1.0):
        await running
    assert rig.heard.items, "a run that ends has been in contact"


async def an_act_is_answered_and_ends_with_its_result(rig: Rig) -> None:
    await rig.adapter.act(act("set_key", PACK), {"key": "let me in"})
    await rig.clock.sleep(0.05)
    assert rig.device.acts[0].arguments == {"key": "let me in"}
    assert answers(rig) == [Answer.ACCEPTED, Answer.DONE]
    assert rig.heard.observations[-1].answers[0].result == {"key_fingerprint": "3f-9c"}
    assert "let me in" not in repr(rig.heard.items), "secrets go to the device and come back from nowhere"


async def an_act_tells_how_far_it_is_and_what_it_finds(rig: Rig) -> None:
    await rig.adapter.act(act("scan"), {})
    await rig.clock.sleep(0.05)
    (progress,) = [each for item in rig.heard.observations for each in item.progress]
    branch = f"{act('scan').target}/carrier/1/branch/a"
    levels = LevelStretch(470_000_000, 25_000, 25_000, (-101.5, None), branch, calibrated=True)
    assert progress == ActProgress("a-1", 0.5, "half of the band", levels)


async def an_act_that_waits_for_a_hand_can_be_cancelled(rig: Rig) -> None:
    await rig.adapter.act(act("link", PACK), {})
    await rig.adapter.cancel(act("link", PACK))
    await rig.clock.sleep(0.05)
    assert answers(rig) == [Answer.WAITING_FOR_HAND, Answer.CANCELLED]


async def a_refused_act_carries_its_reason(rig: Rig) -> None:
    rig.device.mood = "refuse"
    await rig.adapter.act(act("identify"), {})
    await rig.clock.sleep(0.05)
    answer = rig.heard.observations[-1].answers[0]
    assert (answer.command_id, answer.answer) == ("a-1", Answer.REFUSED)
    assert "not while the show runs" in answer.reason


async def an_act_is_never_sent_twice(rig: Rig) -> None:
    rig.device.mood = "wait"
    await rig.adapter.act(act("identify"), {})
    await rig.clock.sleep(30.0)
    assert len(rig.device.acts) == 1
    assert answers(rig) == [Answer.ACCEPTED]


async def a_read_only_device_says_so(rig: Rig) -> None:
    assert rig.heard.contacts[0].description is not None
    assert rig.heard.contacts[0].description.read_only


async def a_write_to_it_is_refused_in_words(rig: Rig) -> None:
    before = len(rig.heard.reports)
    await rig.adapter.write(command())
    await rig.adapter.cancel(command())
    await rig.clock.sleep(0.05)
    assert answers(rig) == [Answer.REFUSED, Answer.REFUSED]
    said = [answer for item in rig.heard.observations for answer in item.answers]
    assert all(answer.command_id == "c-1" and answer.reason.startswith("unsupported: ") for answer in said)
    assert len(rig.heard.reports) == before, "nothing changed"


async def a_read_back_of_it_ends_with_its_address(rig: Rig) -> None:
    await rig.adapter.read_back(PACK)
    await rig.clock.sleep(0.05)
    read = [item for item in rig.heard.observations if item.read_back]
    assert [item.read_back for item in read] == [(PACK,)]
    assert [report.complete for report in read[0].reports] == [True]
    assert read[0].reports[0].settings == rig.device.settings[PACK]


ACT_CHECKS: tuple[Check, ...] = (
    an_act_is_answered_and_ends_with_its_result,
    an_act_tells_how_far_it_is_and_what_it_finds,
    an_act_that_waits_for_a_hand_can_be_cancelled,
    a_refused_act_carries_its_reason,
    an_act_is_never_sent_twice,
)
"""The profile of devices that offer acts."""
READ_CHECKS: tuple[Check, ...] = (
    introduces_the_device_first,
    reports_all_settings_complete,
    hands_readings_on_with_qualities,
    hands_exact_readings_on,
    says_fresh_at_each_heartbeat_that_moved_on,
    after_the_end_every_call_fails_in_words,
)
READ_ONLY_CHECKS: tuple[Check, ...] = (
    *READ_CHECKS,
    a_read_only_device_says_so,
    a_write_to_it_is_refused_in_words,
    a_read_back_of_it_ends_with_its_address,
)
"""The profile of devices that can't be set, recordings among them."""
CHECKS: tuple[Check, ...] = (
    *READ_CHECKS,
    a_frozen_device_is_not_fresh,
    a_write_is_answered_and_reported,
    a_refusal_carries_its_reason,
    a_waiting_write_can_be_cancelled,
    nothing_is_sent_twice,
    a_read_back_ends_with_its_address,
    a_panel_change_is_reported,
    an_end_at_the_device_ends_the_run,
    garbage_ends_the_run,
)
