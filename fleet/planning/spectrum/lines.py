"""Lines and cells of a file of levels: numbers as people and instruments write them, units, errors with their line."""

from __future__ import annotations

import re

from fleet.errors import InvalidDocument
from fleet.planning.spectrum.header import HZ_PER_UNIT, UNIT_WORDS

FREQUENCY_HZ_MINIMUM = 25_000_000
FREQUENCY_HZ_MAXIMUM = 8_000_000_000
"""What surveys for radio microphones cover; no number within is another one in another unit."""
COMMENTS = ("#", "!", "%", "//")
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_FOUND_LENGTH_MAXIMUM = 60


def wrong_line(file: str, line: int, expected: str, found: object) -> InvalidDocument:
    """The error for a line; what was found there is shortened."""
    seen = found[:_FOUND_LENGTH_MAXIMUM] if isinstance(found, str) else found
    return InvalidDocument(file, f"line {line}", expected, seen)


def number_of(text: str) -> float | None:
    """A number as people and instruments write it, or None: not ``nan``, ``inf`` or ``1_000``."""
    return float(text) if _NUMBER.fullmatch(text) else None


def cells_of(line: str, delimiter: str, *, decimal_comma: bool) -> list[str]:
    """The cells of a line without blanks and quotation marks around them."""
    text = line.replace(",", ".") if decimal_comma else line
    parts = text.split(delimiter) if delimiter else text.split()
    return [part.strip().strip('"').strip() for part in parts]


def is_aside(line: str) -> bool:
    """Whether a line holds nothing, or a comment."""
    return not line.strip() or line.lstrip().startswith(COMMENTS)


def unit_of(value: float) -> int:
    """How many hertz the unit of a frequency is, by its size alone; 0 where no unit makes it one of a survey."""
    for hz_per_unit in HZ_PER_UNIT.values():
        if FREQUENCY_HZ_MINIMUM <= value * hz_per_unit <= FREQUENCY_HZ_MAXIMUM:
            return hz_per_unit
    return 0


def unit_words(hz_per_unit: int) -> str:
    """The unit as it is written."""
    return next(UNIT_WORDS[name] for name, each in HZ_PER_UNIT.items() if each == hz_per_unit)


def delimiter_of(line: str) -> str:
    """What parts the cells of a line; empty for blanks."""
    return next((delimiter for delimiter in ("\t", ";", ",") if delimiter in line), "")


def has_decimal_comma(line: str, delimiter: str) -> bool:
    """Whether numbers of a line have a comma where others have a point."""
    parts = cells_of(line, delimiter, decimal_comma=False)
    return delimiter != "," and any(_DECIMAL_COMMA.fullmatch(part) for part in parts)


def has_number(line: str, least: int = 1) -> bool:
    """Whether at least so many cells are numbers."""
    delimiter = delimiter_of(line)
    parts = cells_of(line, delimiter, decimal_comma=delimiter != ",")
    return sum(number_of(part) is not None for part in parts) >= least


def is_data(line: str) -> bool:
    """Whether a line can hold a frequency and a level."""
    return has_number(line, 2)
