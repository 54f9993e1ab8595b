"""Spares held against scans made by hand: the last that covers one counts, what is taken comes last."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.model.plan import Plan, PlanCarrier, PlanSpare
from fleet.model.survey import Scan
from fleet.planning.spare_looks import with_looks
from tests.api.fake_plans import REQUEST

NOW_US, MINUTE_US, MHZ = 10**15, 60_000_000, 1_000_000
SPARES = tuple(PlanSpare("House", "House", hz, rank) for rank, hz in enumerate((472 * MHZ, 474 * MHZ, 476 * MHZ), 1))
PLAN = Plan("The Lamp", REQUEST, (PlanCarrier("House", "House", 470 * MHZ),), SPARES)


def scan(minutes_ago: int, start_hz: int, stop_hz: int, strong_hz: int = 0) -> Scan:
    """Levels of -105 dBm each 25 kHz, -60 at one place."""
    frequencies = range(start_hz, stop_hz + 1, 25_000)
    levels = tuple(-60.0 if hz == strong_hz else -105.0 for hz in frequencies)
    taken = NOW_US - minutes_ago * MINUTE_US
    return Scan(
        scan_id="one",
        place="House left",
        taken_at_utc_us=taken,
        instrument="by hand",
        source="file",
        file="",
        simulated=False,
        calibrated=None,
        bandwidth_hz=25_000,
        sweeps=1,
        words="",
        start_hz=start_hz,
        step_hz=25_000,
        maximum_dbm=levels,
        median_dbm=levels,
        occupancy=tuple(0.0 for _ in levels),
    )


def test_what_is_heard_to_be_taken_comes_last_and_is_quiet_at_no_time() -> None:
    looked = with_looks(PLAN, [scan(3, 470 * MHZ, 478 * MHZ, strong_hz=472 * MHZ)], NOW_US, "plan/quay")
    at = NOW_US - 3 * MINUTE_US
    assert [(each.quiet_at_utc_us, each.quiet_dbm) for each in looked.spares[:2]] == [(at, -105.0)] * 2
    assert {each.frequency_hz for each in looked.spares[:2]} == {474 * MHZ, 476 * MHZ}
    assert looked.spares[2] == PlanSpare("House", "House", 472 * MHZ, 3, None, -60.0)


def test_the_last_scan_that_covers_a_spare_counts() -> None:
    old = scan(50, 470 * MHZ, 478 * MHZ, strong_hz=474 * MHZ)
    fresh = scan(2, 473 * MHZ, 475 * MHZ)
    looked = {each.frequency_hz: each for each in with_looks(PLAN, [old, fresh], NOW_US, "plan/quay").spares}
    assert looked[474 * MHZ].quiet_at_utc_us == NOW_US - 2 * MINUTE_US
    assert looked[476 * MHZ].quiet_at_utc_us == NOW_US - 50 * MINUTE_US
    assert looked[474 * MHZ].rank == 1, "the others were looked at too long ago to be verified"


@pytest.mark.parametrize("stop_hz", [471 * MHZ, 472 * MHZ + 100_000])
def test_a_scan_that_ends_within_half_the_spacing_proves_nothing(stop_hz: int) -> None:
    looked = with_looks(PLAN, [scan(1, 470 * MHZ, stop_hz)], NOW_US, "plan/quay")
    assert all(each.quiet_at_utc_us is None and each.quiet_dbm is None for each in looked.spares)


def test_a_gap_proves_nothing() -> None:
    whole = scan(1, 470 * MHZ, 478 * MHZ)
    gap = tuple(None if index == 80 else level for index, level in enumerate(whole.maximum_dbm))
    looked = with_looks(PLAN, [replace(whole, maximum_dbm=gap)], NOW_US, "plan/quay")
    assert {each.frequency_hz: each.quiet_dbm for each in looked.spares}[472 * MHZ] is None
