"""Cells under the constant power that a pack draws: their voltage, their current, how long they last."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np


@dataclass(frozen=True, slots=True)
class Chemistry:
    """Open-circuit voltage of one cell against what is left of its energy.

    ``remaining`` rises from 0 to 1 and ``open_circuit_v`` belongs to it point by point. The curves are assumptions
    about shape: alkaline slopes, nickel and primary lithium lie flat and then fall, lithium ion slopes gently.
    """

    name: str
    cells: int
    energy_wh: float
    resistance_ohm: float
    empty_v: float
    remaining: tuple[float, ...]
    open_circuit_v: tuple[float, ...]


_ALKALINE = Chemistry(
    "alkaline", 2, 3.2, 0.30, 1.8, (0.0, 0.05, 0.15, 0.3, 0.5, 0.75, 1.0), (0.80, 1.00, 1.12, 1.22, 1.29, 1.38, 1.58)
)
_NICKEL = Chemistry(
    "nimh",
    2,
    4.6,
    0.06,
    2.0,
    (0.0, 0.03, 0.1, 0.3, 0.5, 0.7, 0.9, 1.0),
    (0.80, 1.00, 1.12, 1.18, 1.205, 1.23, 1.28, 1.38),
)
_PRIMARY_LITHIUM = Chemistry(
    "primary-lithium",
    2,
    8.4,
    0.24,
    2.0,
    (0.0, 0.03, 0.08, 0.2, 0.4, 0.7, 0.95, 1.0),
    (0.80, 1.20, 1.45, 1.57, 1.62, 1.65, 1.70, 1.80),
)
_LITHIUM_ION = Chemistry(
    "li-ion",
    1,
    4.4,
    0.12,
    3.2,
    (0.0, 0.03, 0.1, 0.25, 0.45, 0.65, 0.85, 1.0),
    (3.0, 3.3, 3.55, 3.7, 3.78, 3.9, 4.05, 4.2),
)
CHEMISTRIES: Mapping[str, Chemistry] = MappingProxyType(
    {chemistry.name: chemistry for chemistry in (_ALKALINE, _NICKEL, _PRIMARY_LITHIUM, _LITHIUM_ION)}
)


def run_time_h(energy_wh: float, power_w: float) -> float:
    """Hours that an energy lasts at constant power. Raises ValueError at a power not above zero."""
    if power_w <= 0.0 or energy_wh < 0.0:
        raise ValueError("power must be above zero and energy at least zero")
    return energy_wh / power_w


def constant_power_current_a(open_circuit_v: float, resistance_ohm: float, power_w: float) -> float:
    """Current that brings a load its power through an internal resistance: (E - sqrt(E^2 - 4 R P)) / 2R.

    Raises ValueError when the source can't give that power, which is E^2 / 4R at the most.
    """
    if resistance_ohm <= 0.0:
        raise ValueError("an internal resistance must be above zero")
    under_root = open_circuit_v**2 - 4.0 * resistance_ohm * power_w
    if under_root < 0.0:
        raise ValueError("the source can't give that much power")
    return (open_circuit_v - math.sqrt(under_root)) / (2.0 * resistance_ohm)


def open_circuit_v(chemistry: Chemistry, remaining: float) -> float:
    """Voltage of a pack's cells in series without a load, at what is left of their energy, 0 to 1."""
    per_cell = np.interp(remaining, chemistry.remaining, chemistry.open_circuit_v)
    return chemistry.cells * float(per_cell)


def loaded_v(chemistry: Chemistry, remaining: float, resistance_ohm: float, power_w: float) -> float:
    """Voltage of a pack's cells in series under a constant-power load; 0 when they can't carry it."""
    without_load_v = open_circuit_v(chemistry, remaining)
    try:
        current_a = constant_power_current_a(without_load_v, resistance_ohm, power_w)
    except ValueError:
        return 0.0
    return without_load_v - current_a * resistance_ohm


def remaining_by_voltage(chemistry: Chemistry, voltage_v: float) -> float:
    """What a pack reckons to be left, 0 to 1, from its voltage alone by the curve of the chemistry it believes in."""
    return float(np.interp(voltage_v / chemistry.cells, chemistry.open_circuit_v, chemistry.remaining))
