"""What settings of *Kitchen sink* do that one reading in one block doesn't show: clocks, references, squelch, ears."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.model.fields import AUDIO_STATES
from fleet.protocol import messages
from simulator.scenario_checks import load
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.desk import Desk
from tests.simulator.sink import desk_of, throw
from tests.simulator.small_stage import fleet_of

WIDE, SINGLE = "sink-wide-1", "sink-single-1"
PACKS = tuple(f"pack/s0{number}" for number in range(1, 5))


def _wide(sink: VirtualFleet) -> Desk:
    desk = desk_of(sink, WIDE)
    desk.lease(seconds=300)
    return desk


def _mean(desk: Desk, address: str, reading: str, frames: int = 30) -> float:
    return float(np.mean(np.array(desk.series(address, reading)[-frames:], dtype=float)))


def test_a_clock_that_follows_itself_is_never_off_and_twice_the_rate_slips_twice_as_fast(sink: VirtualFleet) -> None:
    """100 in a million of 48,000 a second is 4.8, of 96,000 it is 9.6, by hand."""
    desk = _wide(sink)
    throw(desk, "lead_clock", device_id=WIDE, ppm=100)
    desk.advance(10.0)
    assert desk.last(WIDE, "slip_count") == pytest.approx(48.0, abs=1.0)
    desk.write(WIDE, "c1", sample_rate_hz=96_000)
    desk.advance(10.0)
    assert desk.last(WIDE, "slip_count") == pytest.approx(48.0 + 96.0, abs=2.0)
    desk.write(WIDE, "c2", clock_source="internal")
    desk.advance(10.0)
    assert desk.last(WIDE, "slip_count") == pytest.approx(48.0 + 96.0, abs=3.0)
    assert desk.last(WIDE, "clock_error_ppm") == 0.0


def test_the_same_milliwatts_are_less_above_an_isotropic_radiator_than_above_a_dipole() -> None:
    """Radio Regulations, article 1: e.r.p. and e.i.r.p. differ by 2.15 dB."""
    plain, changed = (_wide(fleet_of(load("kitchen-sink"))) for _ in range(2))
    for number, pack in enumerate(PACKS):
        changed.write(pack, f"c{number}", power_reference="eirp")
    for desk in (plain, changed):
        desk.advance(4.0)
    branch = f"{WIDE}/carrier/1/branch/a"
    assert _mean(changed, branch, "rf_dbm") - _mean(plain, branch, "rf_dbm") == pytest.approx(-2.15, abs=0.1)


def test_a_tone_squelch_opens_for_its_own_pack_alone(sink: VirtualFleet) -> None:
    desk = desk_of(sink, SINGLE)
    throw(desk, "turn_panel", address="pack/s11", changes={"standby": True})
    throw(desk, "turn_panel", address="pack/s21", changes={"frequency_hz": 530_000_000})
    desk.advance(2.0)
    assert desk.exact(f"{SINGLE}/channel/1", "identity") == "pack/s21"
    assert desk.last(f"{SINGLE}/channel/1", "audio_state") == AUDIO_STATES.index("squelched_by_tone")
    desk.write(f"{SINGLE}/carrier/1", "c1", tone_squelch=False)
    desk.advance(2.0)
    assert desk.last(f"{SINGLE}/channel/1", "audio_state") == AUDIO_STATES.index("open")


def test_a_robust_mode_bears_more_noise(sink: VirtualFleet) -> None:
    desk = _wide(sink)
    throw(
        desk,
        "start_stranger",
        name="noise",
        frequency_hz=502_000_000,
        erp_mw=0.8,
        bandwidth_hz=8_000_000,
        position_m=[-3, 0, 2],
    )
    desk.advance(4.0)
    usual = _mean(desk, f"{WIDE}/carrier/1", "link_quality")
    desk.write(f"{WIDE}/carrier/1", "c1", mode="robust")
    desk.advance(5.0)
    assert usual < 0.6
    assert _mean(desk, f"{WIDE}/carrier/1", "link_quality") > usual + 0.2


def test_without_phantom_power_nobody_speaks(sink: VirtualFleet) -> None:
    desk = desk_of(sink, SINGLE)
    throw(desk, "change_source", pack="pack/s11", gain_db=20)
    desk.advance(25.0)
    channel = f"{SINGLE}/channel/1"
    assert max(level or -144.0 for level in desk.series(channel, "rms_dbfs")[-200:]) > -30.0
    desk.write("pack/s11", "c1", phantom="off")
    assert throw(desk, "hand", address="pack/s11") == {"done": 1}
    desk.advance(25.0)
    assert max(level or -144.0 for level in desk.series(channel, "rms_dbfs")[-200:]) < -60.0


def test_an_in_ear_transmitter_is_heard_on_the_air_once_it_radiates(sink: VirtualFleet) -> None:
    scanner, ear = desk_of(sink, "sink-scan-1"), desk_of(sink, "sink-ear-1")
    asked = {"start_hz": 650_000_000, "stop_hz": 650_000_000, "step_hz": 100_000}
    found = []
    for number, radiates in enumerate((False, True)):
        if radiates:
            ear.now_us = scanner.now_us
            ear.write("sink-ear-1/carrier/1", "c1", rf_on=True)
        scanner.advance(0.2)
        scanner.act("sink-scan-1", f"s{number}", "scan", **asked)
        scanner.advance(2.0)
        found.append(
            next(each.levels for each in reversed(scanner.all(messages.Progress)) if each.levels).levels_dbm[0]
        )
    quiet, loud = found
    assert (quiet or 0.0) < -100.0
    assert (loud or -200.0) > -70.0


def test_the_return_link_of_an_access_point_ends_at_its_range(sink: VirtualFleet) -> None:
    """The sixth walks from 22 m to 32 m away, by hand from the scenario; the access point reaches 25 m."""
    near, far = sink.seat_of_pack("pack/s21"), sink.seat_of_pack("pack/s22")
    sink.world.advance(2_000_000)
    assert (sink.world.links[near].in_range, sink.world.links[far].in_range) == (True, True)
    sink.world.advance(40_000_000)
    assert (sink.world.links[near].in_range, sink.world.links[far].in_range) == (True, False)
