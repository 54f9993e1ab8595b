"""The rules over the whole console: faults that must be alarms and end as such, and their likenesses that must not be.

Several at once in one evening, so that each is also seen not to bring about another's alarm.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.scenarios.whole_console import WholeConsole, evening

SETTLED_S = 15.0


def matter(console: WholeConsole, cause: str) -> Mapping[str, Any]:
    (found,) = [each for each in console.screen.matters if each["cause"] == cause]
    return found


def rows_by_cause(console: WholeConsole) -> dict[str, list[str]]:
    return {each["cause"]: each["rows"] for each in console.screen.matters}


def rules_raised(console: WholeConsole) -> set[str]:
    return {event["alarm"]["rule_id"] for event in console.screen.events if event["kind"] == "alarm changed"}


def frequency_of(console: WholeConsole, pack: str) -> int:
    truth: Any = console.fault("truth", address=pack)
    return int(truth["settings"]["frequency_hz"])


@evening
async def test_each_fault_is_its_own_matter_and_ends_with_its_cure(console: WholeConsole) -> None:
    await console.pass_time(SETTLED_S)
    console.fault("change_source", pack="pack/k01", gain_db=30.0)
    stranger = {"frequency_hz": frequency_of(console, "pack/k02"), "erp_mw": 100.0, "position_m": [0.0, 4.0, 2.0]}
    console.fault("start_stranger", name="neighbour", **stranger)
    console.fault("change_key", pack="pack/k04")
    console.fault("put_cells", pack="pack/k06", cells="li-ion", charge=0.04)
    console.fault("break_feed", antenna="Quay north", fault="unpowered")
    console.fault("lead_clock", device_id="camera-1", ppm=0.001, locked=False)
    await console.pass_time(50.0)
    console.fault("lead_clock", rack="House rack", ppm=10.0)
    await console.pass_time(30.0)
    rows = rows_by_cause(console)
    assert rows.pop("clock-slips-together") == [f"house-{n}/channel/{c}" for n in range(1, 9) for c in (1, 2)]
    assert rows == {
        "pack-overload": ["house-1/channel/1"],
        "audio-damage": ["house-1/channel/2"],
        "wrong-key": ["house-2/channel/2"],
        "cells-end": ["house-3/channel/2"],
        "deaf-branch-together": [f"quay-{n}/channel/{c}" for n, c in ((1, 1), (1, 2), (2, 1), (2, 2))],
        "clock-unlocked": ["camera-1/channel/1", "camera-1/channel/2"],
    }
    assert matter(console, "clock-slips-together")["shared"] == "House rack"
    assert matter(console, "deaf-branch-together")["shared"] == "Quay north"
    assert matter(console, "audio-damage")["evidence"]["damaged_fraction"] > 0.03
    assert matter(console, "cells-end")["evidence"]["battery_minutes"] < 30.0
    console.fault("turn_panel", address="pack/k01", changes={"input_trim_db": -24.0})
    console.fault("stop_stranger", name="neighbour")
    console.fault("restore_key", pack="pack/k04")
    console.fault("put_cells", pack="pack/k06", cells="li-ion", charge=1.0)
    console.fault("mend_feed", antenna="Quay north")
    console.fault("lead_clock", device_id="camera-1", ppm=0.0)
    console.fault("lead_clock", rack="House rack", ppm=0.0)
    await console.pass_time(90.0)
    assert [each["cause"] for each in console.screen.matters if not each["returned"]] == []
    assert len(console.screen.matters) == 7, "each waits to be acknowledged"


@evening
async def test_an_open_feed_is_one_matter_of_its_antenna_path_and_nothing_else(console: WholeConsole) -> None:
    await console.pass_time(SETTLED_S)
    console.fault("break_feed", antenna="House right", fault="open")
    await console.pass_time(35.0)
    (deaf,) = console.screen.matters
    assert (deaf["cause"], deaf["shared"]) == ("deaf-branch-together", "House right")
    assert len(deaf["rows"]) == 15, "every part of the house; the spare is nobody's"
    assert deaf["evidence"]["deafness_db"] > 15.0


@evening
async def test_what_only_looks_like_a_fault_raises_nothing(console: WholeConsole) -> None:
    await console.pass_time(SETTLED_S)
    console.fault("change_source", pack="pack/k01", gain_db=6.0)
    console.fault("change_source", pack="pack/k02", gain_db=-60.0)
    console.fault("turn_panel", address="pack/k03", changes={"muted": True})
    console.fault("turn_panel", address="pack/k05", changes={"standby": True})
    console.fault("carry_pack", pack="pack/k07", antenna="House left", distance_m=8.0, worn=True)
    console.fault("lead_clock", device_id="house-1", ppm=0.01)
    await console.pass_time(50.0)
    console.fault("reboot", device_id="house-8")
    await console.pass_time(20.0)
    assert rules_raised(console) <= {"contact-lost"}, "the restart alone, if it took long enough"
