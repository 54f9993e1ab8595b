"""A link goes weak: when that is an alarm, and when it is none."""

from __future__ import annotations

from typing import cast

from tests.scenarios.whole_console import WholeConsole, evening

PACK = "pack/k17"
CARRIER = "quay-1/carrier/1"
ALARM = f"weak-rf:{CARRIER}"


def turn_away(console: WholeConsole) -> int:
    """Somebody retunes the pack in their hand: the receiver is left with its floor. Returns where it was."""
    pack = cast("dict[str, dict[str, int]]", console.fault("truth", address=PACK))
    before = pack["settings"]["frequency_hz"]
    console.fault("turn_panel", address=PACK, changes={"frequency_hz": before + 5_000_000})
    return before


@evening
async def test_a_link_lost_for_longer_than_a_second_is_an_alarm_with_its_evidence(console: WholeConsole) -> None:
    before = turn_away(console)
    await console.pass_time(4.0)
    screen = console.screen
    assert screen.alarm_states(ALARM) == ["unacknowledged"]
    alarm = screen.alarms_of("weak-rf")[0]
    assert alarm["priority"] == 2
    assert alarm["evidence"]["better_branch_margin_db"] < 15.0
    assert [matter["rows"] for matter in screen.matters] == [["quay-1/channel/1"]]
    console.fault("turn_panel", address=PACK, changes={"frequency_hz": before})
    await console.pass_time(6.0)
    assert screen.alarm_states(ALARM) == ["unacknowledged", "returned unacknowledged"]


@evening
async def test_a_shorter_fade_is_no_alarm(console: WholeConsole) -> None:
    before = turn_away(console)
    await console.pass_time(0.7)
    console.fault("turn_panel", address=PACK, changes={"frequency_hz": before})
    await console.pass_time(8.0)
    assert console.screen.alarms_of("weak-rf") == []


@evening
async def test_a_pack_put_to_sleep_is_no_alarm(console: WholeConsole) -> None:
    console.fault("turn_panel", address=PACK, changes={"standby": True})
    await console.pass_time(15.0)
    assert console.screen.alarms_of("weak-rf") == []


@evening
async def test_an_unassigned_spare_is_no_alarm(console: WholeConsole) -> None:
    console.fault("turn_panel", address="pack/k21", changes={"frequency_hz": 690_000_000})
    await console.pass_time(8.0)
    assert console.screen.alarms_of("weak-rf") == []


@evening
async def test_a_quiet_minute_raises_nothing(console: WholeConsole) -> None:
    await console.pass_time(60.0)
    assert console.screen.matters == []
    assert [event for event in console.screen.events if event["kind"] == "alarm changed"] == []
