"""Two scans held against each other, of one grid and of two."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.model.survey import Scan
from fleet.planning.spectrum.compare import compare
from tests.planning.spectrum.scans import ABOUT, START_HZ, frequencies, scan_of, still

POINTS = 400


def heard(carriers: dict[int, float], floor_dbm: float = -105.0, place: str = "House left") -> Scan:
    return scan_of(still(POINTS, floor_dbm, carriers), frequencies(POINTS), replace(ABOUT, place=place))


def test_what_came_what_went_and_by_how_much() -> None:
    before = heard({100: -60.0, 150: -70.0, 200: -50.0, 250: -80.0})
    after = heard({100: -60.0, 150: -55.0, 250: -88.0, 300: -40.0})
    found = compare(before, after)
    told = [(each.change, (each.start_hz + each.stop_hz) // 2 - START_HZ, each.change_db) for each in found.changes]
    assert told == [
        ("louder", 150 * 25_000, 15.0),
        ("went", 200 * 25_000, -55.0),
        ("quieter", 250 * 25_000, -8.0),
        ("came", 300 * 25_000, 65.0),
    ]
    assert (found.difference_db[150], found.difference_db[100], found.floor_change_db) == (15.0, 0.0, 0.0)
    assert compare(after, after).changes == ()


def test_a_floor_that_rose_is_no_carrier_that_came() -> None:
    found = compare(heard({}), heard({}, floor_dbm=-93.0, place="Quay"))
    assert (found.changes, found.floor_change_db) == ((), 12.0)
    assert "different places" in " ".join(found.words)


def test_different_grids_lose_no_peak() -> None:
    """The later scan has steps of 10 kHz, begins 2 MHz higher, with one carrier between the earlier one's points."""
    fine = scan_of(still(600, -105.0, {333: -45.0}), frequencies(600, 10_000, START_HZ + 2_000_000))
    found = compare(heard({}), fine)
    (came,) = found.changes
    assert (found.start_hz, found.step_hz, len(found.difference_db)) == (START_HZ + 2_000_000, 25_000, 240)
    assert (came.change, came.change_db) == ("came", 60.0)
    assert came.start_hz <= START_HZ + 5_330_000 <= came.stop_hz
    back = compare(fine, heard({}))
    assert [(each.change, each.change_db) for each in back.changes] == [("went", -60.0)]


def test_scans_that_share_nothing() -> None:
    apart = scan_of(still(50, -105.0, {}), frequencies(50, 25_000, 600_000_000))
    found = compare(heard({}), apart)
    assert (found.difference_db, found.floor_change_db) == ((), None)
    assert "no frequency in common" in found.words[0]


@pytest.mark.parametrize(("first", "second", "said"), [(25_000, None, True), (25_000, 25_000, False)])
def test_different_bandwidths_are_said(first: int, second: int | None, *, said: bool) -> None:
    found = compare(replace(heard({}), bandwidth_hz=first), replace(heard({}), bandwidth_hz=second))
    assert any("bandwidths" in words for words in found.words) is said
