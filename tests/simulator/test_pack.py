from __future__ import annotations

import pytest

from fleet.physics.discharge import CHEMISTRIES
from simulator.luck import Luck
from simulator.pack import Pack
from simulator.scenario import Channel


def _pack(cells: str = "li-ion", *, charge: float = 1.0, power_mw: float = 10.0) -> Pack:
    spec = Channel("Part", "p1", 520_000_000, "Round", cells=cells, charge=charge, rf_power_mw=power_mw)
    return Pack(spec, Luck(1))


def _hours_until_dead(pack: Pack) -> float:
    minutes = 0
    while not pack.dead:
        pack.live(60.0)
        minutes += 1
        assert minutes < 100 * 60, "it never ends"
    return minutes / 60.0


@pytest.mark.parametrize("cells", CHEMISTRIES)
def test_percent_and_minutes_never_rise_at_a_constant_load(cells: str) -> None:
    pack = _pack(cells)
    reports = []
    while not pack.dead:
        reports.append(pack.report())
        pack.live(600.0)
    for name in ("battery_v", "battery_fraction", "battery_minutes"):
        series = [getattr(report, name) for report in reports]
        assert series == sorted(series, reverse=True), name
    assert pack.report().battery_fraction == 0.0
    assert pack.report().goodbye == 3  # Cells.


def test_full_power_costs_a_fifth_to_two_fifths_of_the_run_time() -> None:
    """Common practice: 50 mW costs 20 to 40 % against 10."""
    ordinary = _hours_until_dead(_pack(power_mw=10.0))
    full = _hours_until_dead(_pack(power_mw=50.0))
    assert 0.6 <= full / ordinary <= 0.8


def test_sleep_saves_seven_to_nine_tenths() -> None:
    """Common practice: standby saves 70 to 90 %."""
    awake, asleep = _pack(), _pack()
    asleep.apply({"standby": True})
    spent = []
    for pack in (awake, asleep):
        before = pack.cells.left_wh
        pack.live(3600.0)
        spent.append(before - pack.cells.left_wh)
    assert 0.7 <= 1.0 - spent[1] / spent[0] <= 0.9


def test_cells_of_a_kind_differ_by_luck_and_not_by_order() -> None:
    spec = Channel("Part", "p1", 520_000_000, "Round")
    other = Channel("Part", "p2", 520_000_000, "Round")
    assert Pack(spec, Luck(1)).cells.capacity_wh != Pack(other, Luck(1)).cells.capacity_wh
    assert Pack(spec, Luck(1)).cells.capacity_wh == Pack(spec, Luck(1)).cells.capacity_wh


def test_dead_cells_take_the_carrier_with_them() -> None:
    pack = _pack()
    before = (pack.dead, pack.radiating)
    pack.kill_cells()
    assert before == (False, True)
    assert (pack.dead, pack.radiating) == (True, False)
    assert not pack.live(1.0)


def test_what_it_reports_is_coarse() -> None:
    report = _pack("alkaline", charge=0.83).report()
    assert report.battery_fraction * 20 == pytest.approx(round(report.battery_fraction * 20))
    assert report.battery_minutes % 5 == 0


def test_a_wrong_cell_type_makes_the_fraction_a_fiction() -> None:
    """Common practice: nickel stands at 1.2 V a cell when half full, where alkaline is running low, and the other way
    round an alkaline pack taken for nickel looks fuller than it is."""
    nickel, alkaline = _pack("nimh", charge=0.5), _pack("alkaline", charge=0.5)
    told = [pack.report().battery_fraction for pack in (nickel, alkaline)]
    volts = [pack.report().battery_v for pack in (nickel, alkaline)]
    nickel.apply({"cell_type": "alkaline"})
    alkaline.apply({"cell_type": "nimh"})
    believed = [pack.report().battery_fraction for pack in (nickel, alkaline)]
    assert believed[0] < told[0] - 0.1
    assert believed[1] > told[1] + 0.1
    assert [pack.report().battery_v for pack in (nickel, alkaline)] == volts
