"""How a file of levels is laid out, told from its first lines: what parts the cells, which column and unit is which."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fleet.errors import InvalidDocument
from fleet.model.survey import LEVEL_DBM_MAXIMUM, LEVEL_DBM_MINIMUM
from fleet.planning.spectrum.header import DBUV, HZ_PER_UNIT, Cell, Meaning, read_header
from fleet.planning.spectrum.lines import (
    cells_of,
    delimiter_of,
    has_decimal_comma,
    has_number,
    is_aside,
    is_data,
    number_of,
    unit_of,
    unit_words,
    wrong_line,
)

HEAD_LINES = 200


@dataclass(frozen=True, slots=True)
class Layout:
    """Where in a line frequency and level stand, and how they are written.

    An empty ``delimiter`` means blanks. ``header`` is the line that named the columns, empty for none; ``first_line``
    the line of the first levels. ``told`` says what was understood, and why so.
    """

    file: str
    delimiter: str
    decimal_comma: bool
    columns: int
    frequency: int
    level: int
    sweep: int | None
    hz_per_unit: int
    dbm_of_zero: float
    header: str
    first_line: int
    told: tuple[str, ...]

    def cells(self, line: str) -> list[str]:
        """The cells of a line, in which numbers have a point."""
        return cells_of(line, self.delimiter, decimal_comma=self.decimal_comma)

    def wrong(self, line: int, expected: str, found: object) -> InvalidDocument:
        """The error for a line."""
        return wrong_line(self.file, line, expected, found)


Numbered = Sequence[tuple[int, str]]


def layout_of(head: Sequence[str], file: str) -> Layout:
    """The layout of a file that begins with these lines. What stands above a header is passed over.

    Raises InvalidDocument with the line and what was expected there.
    """
    numbered = [(number, line) for number, line in enumerate(head, start=1) if not is_aside(line)]
    for index, (_, line) in enumerate(numbered):
        delimiter = delimiter_of(line)
        header = read_header(cells_of(line, delimiter, decimal_comma=False))
        if header is not None and any(has_number(below) for _, below in numbered[index + 1 : index + 3]):
            return _with_header(numbered[index:], header, delimiter, file)
    if numbered and is_data(numbered[0][1]):
        return _without_header(numbered, file)
    number, line = numbered[0] if numbered else (1, "nothing")
    raise wrong_line(file, number, "a header that names a frequency and a level, or numbers", line)


def _with_header(numbered: Numbered, header: list[Cell], delimiter: str, file: str) -> Layout:
    header_line, rest = numbered[0], numbered[1:]
    units = read_header(cells_of(rest[0][1], delimiter, decimal_comma=False))
    if units is not None:
        header, rest = _with_units(header, units), rest[1:]
    number, line = rest[0]
    decimal_comma = has_decimal_comma(line, delimiter)
    parts = cells_of(line, delimiter, decimal_comma=decimal_comma)
    frequency = _only(header, Meaning.FREQUENCY, (file, *header_line))
    level = _only(header, Meaning.LEVEL, (file, *header_line))
    if len(parts) <= max(frequency, level):
        raise wrong_line(file, number, f"{len(header)} cells, as the header has", line)
    sweeps = [index for index, cell in enumerate(header) if cell.meaning is Meaning.SWEEP and index < len(parts)]
    layout = Layout(
        file=file,
        delimiter=delimiter,
        decimal_comma=decimal_comma,
        columns=len(parts),
        frequency=frequency,
        level=level,
        sweep=sweeps[0] if sweeps else None,
        hz_per_unit=header[frequency].hz_per_unit,
        dbm_of_zero=0.0,
        header=header_line[1],
        first_line=number,
        told=(f"columns named on line {header_line[0]}",),
    )
    return _with_level_unit(_with_frequency_unit(layout, line), header[level].dbm_of_zero, rest)


def _with_units(header: list[Cell], units: list[Cell]) -> list[Cell]:
    """The header with the units of a second line of it."""
    merged = list(header)
    for index, unit in enumerate(units[: len(header)]):
        if unit.meaning is header[index].meaning:
            merged[index] = replace(
                header[index],
                hz_per_unit=header[index].hz_per_unit or unit.hz_per_unit,
                dbm_of_zero=unit.dbm_of_zero if header[index].dbm_of_zero is None else header[index].dbm_of_zero,
                refused=header[index].refused or unit.refused,
            )
    return merged


def _only(header: list[Cell], meaning: Meaning, place: tuple[str, int, str]) -> int:
    """The one column of that meaning; of several levels the one that says it is the greatest."""
    found = [index for index, cell in enumerate(header) if cell.meaning is meaning]
    greatest = [index for index in found if header[index].greatest]
    if len(found) > 1 and len(greatest) == 1:
        found = greatest
    file, number, line = place
    if len(found) != 1:
        raise wrong_line(file, number, f"one column for the {meaning}, not {len(found)}", line)
    refused = header[found[0]].refused
    if refused:
        raise wrong_line(file, number, f"levels in dBm, or in {DBUV} at 50 ohm", refused)
    return found[0]


def _with_frequency_unit(layout: Layout, line: str) -> Layout:
    """The layout with the unit of frequencies that the header says, or else the size of the first one."""
    if layout.hz_per_unit:
        told = f"frequencies in {unit_words(layout.hz_per_unit)}, as the header says"
        return replace(layout, told=(*layout.told, told))
    text = layout.cells(line)[layout.frequency]
    value = number_of(text)
    unit = 0 if value is None else unit_of(value)
    if not unit:
        expected = "a frequency from 25 MHz to 8 GHz, in Hz, kHz, MHz or GHz"
        raise layout.wrong(layout.first_line, expected, text)
    told = f"frequencies in {unit_words(unit)}, by their size: {text} can be nothing else from 25 MHz to 8 GHz"
    return replace(layout, hz_per_unit=unit, told=(*layout.told, told))


def _with_level_unit(layout: Layout, dbm_of_zero: float | None, rest: Numbered) -> Layout:
    """The layout with the unit of levels that the header says; negative ones without a unit are in dBm."""
    if dbm_of_zero is not None:
        words = f"levels in {DBUV}, taken at 50 ohm" if dbm_of_zero else "levels in dBm"
        return replace(layout, dbm_of_zero=dbm_of_zero, told=(*layout.told, f"{words}, as the header says"))
    for number, line in rest:
        parts = layout.cells(line)
        value = number_of(parts[layout.level]) if len(parts) == layout.columns else None
        if value is not None and value >= 0.0:
            expected = f"a header that says dBm or {DBUV}, for a level of zero or more can be either"
            raise layout.wrong(number, expected, parts[layout.level])
    return replace(layout, told=(*layout.told, "levels in dBm, for they are negative and nothing else is said"))


def _without_header(numbered: Numbered, file: str) -> Layout:
    number, line = numbered[0]
    delimiter = delimiter_of(line)
    decimal_comma = has_decimal_comma(line, delimiter)
    rows = [cells_of(each, delimiter, decimal_comma=decimal_comma) for _, each in numbered]
    columns = [[number_of(cell) for cell in column] for column in zip(*rows, strict=False)]
    whole = [[value for value in column if value is not None] for column in columns]
    levels = [index for index, column in enumerate(whole) if _may_be(column, _is_level)]
    frequencies = [index for index, column in enumerate(whole) if _may_be(column, _is_frequency)]
    if len(levels) != 1 or len(frequencies) != 1:
        expected = "a frequency and a negative level in dBm, or a header that names them"
        raise wrong_line(file, number, expected, line)
    layout = Layout(
        file=file,
        delimiter=delimiter,
        decimal_comma=decimal_comma,
        columns=len(rows[0]),
        frequency=frequencies[0],
        level=levels[0],
        sweep=None,
        hz_per_unit=0,
        dbm_of_zero=0.0,
        header="",
        first_line=number,
        told=(f"no header: frequency in column {frequencies[0] + 1}, level in column {levels[0] + 1}",),
    )
    return _with_level_unit(_with_frequency_unit(layout, line), None, numbered)


def _may_be(column: list[float], is_one: Callable[[float], bool]) -> bool:
    """Whether most of a column can be that; a line that is wrong is found later, and named."""
    return bool(column) and 2 * sum(is_one(value) for value in column) > len(column)


def _is_level(value: float) -> bool:
    return LEVEL_DBM_MINIMUM <= value < min(0.0, LEVEL_DBM_MAXIMUM)


def _is_frequency(value: float) -> bool:
    """Whether a number can be a frequency; a small whole one is rather a count than gigahertz."""
    unit = unit_of(value)
    return unit != 0 and not (unit == HZ_PER_UNIT["ghz"] and value.is_integer())
