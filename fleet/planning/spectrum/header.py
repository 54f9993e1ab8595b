"""What the cells of a header say: which column is the frequency, which the level, and in what units."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

HZ_PER_UNIT = {"hz": 1, "khz": 1_000, "mhz": 1_000_000, "ghz": 1_000_000_000}
UNIT_WORDS = {"hz": "Hz", "khz": "kHz", "mhz": "MHz", "ghz": "GHz"}
DBUV = "dB\u00b5V"
DBM_OF_DBUV = -10.0 * math.log10(50.0) - 90.0
"""What a microvolt is: 1e-12 V² in 50 ohms, in milliwatts; so 0 dBm is 107 of them in decibels."""
_LEVEL_UNITS = {"dbm": 0.0, "dbuv": DBM_OF_DBUV}
_LEVEL_WORDS = {"level", "levels", "power", "amplitude", "ampl", "magnitude", "signal", "rssi", "strength", "value"}
_SWEEP_WORDS = {"sweep", "trace", "scan", "pass", "run"}
_ASIDE_WORDS = {"rbw", "vbw", "bandwidth", "step", "span", "time", "date", "timestamp", "index", "point", "offset"}
_FIGURE = re.compile(r"[+-]?\.?\d")
_DENSITY = re.compile(r"db\w*\s*(?:/|per)\s*\w")


class Meaning(StrEnum):
    """What a column holds."""

    FREQUENCY = "frequency"
    LEVEL = "level"
    SWEEP = "sweep"
    ASIDE = "aside"


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell of a header says.

    ``hz_per_unit`` is 0 where no unit of frequency stands there, ``dbm_of_zero`` None where no unit of level does.
    ``refused`` names a unit that isn't a level at 50 ohms. ``greatest`` says that the column holds the greatest levels.
    """

    meaning: Meaning
    hz_per_unit: int = 0
    dbm_of_zero: float | None = None
    refused: str = ""
    greatest: bool = False


def read_cell(text: str) -> Cell:
    """What one cell of a header says."""
    plain = text.casefold().replace("\u03bc", "u").replace("\udcb5", "u")  # The micro sign, also that of Latin-1.
    words = re.findall(r"[a-z]+", plain)
    units = [word for word in words if word in HZ_PER_UNIT]
    decibels = [word for word in words if re.fullmatch(r"db(?:m|fs|mv|uv|w|uw|mw|c|v)?", word)]
    greatest = bool({"max", "maximum", "peak", "maxhold"} & set(words))
    if decibels:
        refused = "" if decibels[0] in _LEVEL_UNITS and not _DENSITY.search(plain) else text.strip()
        return Cell(Meaning.LEVEL, 0, _LEVEL_UNITS.get(decibels[0]), refused, greatest)
    if set(words) & _ASIDE_WORDS:
        return Cell(Meaning.ASIDE)
    if any(word.startswith("freq") for word in words) or words == ["f"] or units:
        return Cell(Meaning.FREQUENCY, HZ_PER_UNIT[units[0]] if units else 0)
    if set(words) & _LEVEL_WORDS or greatest:
        return Cell(Meaning.LEVEL, greatest=greatest)
    return Cell(Meaning.SWEEP if set(words) & _SWEEP_WORDS else Meaning.ASIDE)


def read_header(cells: list[str]) -> list[Cell] | None:
    """What a line says as a header, or None: it names no frequency, or no level, or tells figures."""
    if any(_FIGURE.match(cell) for cell in cells):
        return None
    found = [read_cell(cell) for cell in cells]
    if {Meaning.FREQUENCY, Meaning.LEVEL} <= {cell.meaning for cell in found}:
        return found
    return None
