"""Cells against the arithmetic of constant power with an internal resistance, I = (E - sqrt(E^2 - 4RP)) / 2R."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from fleet.physics.discharge import (
    CHEMISTRIES,
    constant_power_current_a,
    loaded_v,
    remaining_by_voltage,
    run_time_h,
)


def test_run_time() -> None:
    """2.5 Wh at 0.25 W last 10 h."""
    assert run_time_h(2.5, 0.25) == 10.0


@pytest.mark.parametrize(("open_v", "current_a", "loaded"), [(3.0, 0.20417, 2.9387), (2.4, 0.25834, None)])
def test_constant_power(open_v: float, current_a: float, loaded: float | None) -> None:
    """0.6 W through 0.3 ohm."""
    found_a = constant_power_current_a(open_v, 0.3, 0.6)
    assert found_a == pytest.approx(current_a, abs=1e-4)
    if loaded is not None:
        assert open_v - 0.3 * found_a == pytest.approx(loaded, abs=1e-4)


@pytest.mark.parametrize(("cell_v", "current_ma"), [(1.5, 166.7), (0.9, 277.8)])
def test_current_rises_as_a_cell_falls(cell_v: float, current_ma: float) -> None:
    """0.25 W, P / E; the formula without resistance is its limit, and a micro-ohm is next to none."""
    assert 1000.0 * constant_power_current_a(cell_v, 1e-6, 0.25) == pytest.approx(current_ma, abs=0.1)


def test_greatest_power() -> None:
    """E^2 / 4R = 7.5 W at 3.0 V and 0.3 ohm."""
    assert constant_power_current_a(3.0, 0.3, 7.5) == pytest.approx(5.0)
    with pytest.raises(ValueError, match="that much power"):
        constant_power_current_a(3.0, 0.3, 7.500001)


@pytest.mark.parametrize("name", CHEMISTRIES)
def test_voltage_only_falls(name: str) -> None:
    cells = CHEMISTRIES[name]
    voltages = [loaded_v(cells, remaining, cells.resistance_ohm, 0.36) for remaining in np.linspace(1.0, 0.0, 101)]
    assert all(later <= earlier for earlier, later in itertools.pairwise(voltages))


@given(name=some.sampled_from(sorted(CHEMISTRIES)), light_w=some.floats(0.05, 0.5), more_w=some.floats(0.01, 0.5))
def test_more_load_is_less_voltage_and_less_time(name: str, light_w: float, more_w: float) -> None:
    cells = CHEMISTRIES[name]
    assert run_time_h(cells.energy_wh, light_w + more_w) < run_time_h(cells.energy_wh, light_w)
    light_v = loaded_v(cells, 0.7, cells.resistance_ohm, light_w)
    assert loaded_v(cells, 0.7, cells.resistance_ohm, light_w + more_w) < light_v


def _left_when_empty(name: str, resistance_ohm: float) -> float:
    """What is left of a cell's energy when its pack, under load, gives up."""
    cells = CHEMISTRIES[name]
    left = np.linspace(0.0, 1.0, 2_001)
    holds = [loaded_v(cells, remaining, resistance_ohm, 0.36) >= cells.empty_v for remaining in left]
    return float(left[int(np.argmax(holds))])


@pytest.mark.parametrize("name", CHEMISTRIES)
def test_more_resistance_is_less_time(name: str) -> None:
    """An old cell leaves more of its energy behind, step by step."""
    own_ohm = CHEMISTRIES[name].resistance_ohm
    left = [_left_when_empty(name, times * own_ohm) for times in (1.0, 2.0, 4.0)]
    assert 0.0 < left[0] < left[1] < left[2] < 1.0


@given(name=some.sampled_from(sorted(CHEMISTRIES)), believed=some.sampled_from(sorted(CHEMISTRIES)))
def test_what_a_pack_reckons_never_rises(name: str, believed: str) -> None:
    """At a constant load, whatever cells it believes in."""
    cells = CHEMISTRIES[name]
    voltages = [loaded_v(cells, left, cells.resistance_ohm, 0.36) for left in np.linspace(1.0, 0.0, 101)]
    reckoned = [remaining_by_voltage(CHEMISTRIES[believed], voltage) for voltage in voltages]
    assert all(later <= earlier for earlier, later in itertools.pairwise(reckoned))


def test_the_same_voltage_means_less_in_an_alkaline_cell() -> None:
    """1.2 V a cell: low for alkaline, the middle for nickel."""
    by_alkaline = remaining_by_voltage(CHEMISTRIES["alkaline"], 2.4)
    by_nickel = remaining_by_voltage(CHEMISTRIES["nimh"], 2.4)
    assert by_alkaline < 0.35 < by_nickel < 0.65


def test_edges_are_refused() -> None:
    with pytest.raises(ValueError, match="power"):
        run_time_h(1.0, 0.0)
    with pytest.raises(ValueError, match="resistance"):
        constant_power_current_a(3.0, 0.0, 0.1)
