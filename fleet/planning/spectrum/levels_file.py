"""Levels over frequency from a text file: a million lines in seconds, and every fault with its line."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from fleet.errors import InvalidDocument
from fleet.model.survey import LEVEL_DBM_MAXIMUM, LEVEL_DBM_MINIMUM
from fleet.planning.spectrum.header import DBUV
from fleet.planning.spectrum.layout import HEAD_LINES, Layout, layout_of
from fleet.planning.spectrum.lines import (
    FREQUENCY_HZ_MAXIMUM,
    FREQUENCY_HZ_MINIMUM,
    is_aside,
    number_of,
    unit_words,
    wrong_line,
)

LINES_MAXIMUM = 5_000_000
LINE_LENGTH_MAXIMUM = 10_000
_CHUNK_CHARACTERS = 1_000_000

Whole = NDArray[np.int64]
Real = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FileLevels:
    """What a file holds, in its order: frequencies, levels, and which sweep each belongs to.

    ``told`` says in words what was understood, and why so.
    """

    frequency_hz: Whole
    level_dbm: Real
    sweep: Whole
    lines: int
    told: tuple[str, ...]


def read_levels(file: BinaryIO, name: str, should_stop: Callable[[int], bool] = lambda _: False) -> FileLevels | None:
    """The levels of an open file, at most LINES_MAXIMUM lines of it; ``name`` stands in errors.

    ``should_stop`` is asked now and then with the number of lines read so far; when it says so, reading ends with
    None. Raises InvalidDocument with the line and what was expected there.
    """
    reading: _Reading | None = None
    for text in _chunks(file, name):
        if reading is None:
            head = text.split("\n", HEAD_LINES)
            reading = _Reading(layout_of(head[:HEAD_LINES], name))
            reading.take(text.split("\n", reading.layout.first_line - 1)[-1])
        else:
            reading.take(text)
        if should_stop(reading.next_line - 1):
            return None
    if reading is None:
        raise wrong_line(name, 1, "a line with a frequency and a level", "nothing")
    return reading.whole()


class _Reading:
    """What was read so far."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.next_line = layout.first_line
        self._parts: list[tuple[Whole, Real, Whole]] = []
        self._sweeps: dict[str, int] = {}

    def take(self, text: str) -> None:
        """Read some lines more, each with its end: all at once, or one by one where that doesn't go."""
        lines = text.count("\n")
        if self.next_line + lines - 1 > LINES_MAXIMUM:
            raise self.layout.wrong(LINES_MAXIMUM + 1, f"at most {LINES_MAXIMUM} lines", "more")
        part = self._at_once(text) or self._at_once(self._without_asides(text))
        self._parts.append(part or self._one_by_one(text.split("\n")[:-1]))
        self.next_line += lines

    def whole(self) -> FileLevels:
        """All of it."""
        frequency_hz, level_dbm, sweep = (np.concatenate(part) for part in zip(*self._parts, strict=True))
        if frequency_hz.size == 0:
            raise self.layout.wrong(self.layout.first_line, "a frequency and a level", "nothing")
        told = self.layout.told
        if self.layout.sweep is None:
            sweep = _times_before(frequency_hz)
        else:
            told = (*told, f"sweeps told apart by column {self.layout.sweep + 1}")
        return FileLevels(frequency_hz, level_dbm, sweep, self.next_line - 1, told)

    def _without_asides(self, text: str) -> str:
        """The lines that are no comment, not empty and not the header again."""
        header = self.layout.header.strip()
        return "".join(f"{line}\n" for line in text.split("\n") if not is_aside(line) and line.strip() != header)

    def _at_once(self, text: str) -> tuple[Whole, Real, Whole] | None:
        """Lines that all hold good numbers, or None."""
        layout, lines = self.layout, text.count("\n")
        plain = text.replace('"', "")
        plain = plain.replace(",", ".") if layout.decimal_comma else plain
        if not text.strip() or not _is_even(plain, layout):
            return None
        columns, delimiter = (layout.frequency, layout.level), layout.delimiter or None
        wanted = columns if delimiter else None  # Without the choice of columns the reader counts the blanks, too.
        try:
            table = np.loadtxt(io.StringIO(plain), delimiter=delimiter, usecols=wanted, comments=None, ndmin=2)
        except ValueError:
            return None
        frequency, level = table.T if delimiter else table.T[list(columns)]
        frequencies, levels = frequency * layout.hz_per_unit, level + layout.dbm_of_zero
        good = (frequencies >= FREQUENCY_HZ_MINIMUM) & (frequencies <= FREQUENCY_HZ_MAXIMUM)
        good &= (levels >= LEVEL_DBM_MINIMUM) & (levels <= LEVEL_DBM_MAXIMUM)
        if levels.size != lines or not good.all():
            return None
        sweeps = np.zeros(lines, np.int64)
        if layout.sweep is not None:
            names = (line.split(layout.delimiter or None)[layout.sweep] for line in plain.split("\n")[:-1])
            sweeps = np.fromiter(map(self._sweep, names), np.int64, lines)
        return np.rint(frequencies).astype(np.int64), levels, sweeps

    def _one_by_one(self, lines: list[str]) -> tuple[Whole, Real, Whole]:
        """The same, past comments and repeated headers; raises with the first line that is wrong."""
        rows = [
            self._row(number, line)
            for number, line in enumerate(lines, start=self.next_line)
            if not is_aside(line) and line.strip() != self.layout.header.strip()
        ]
        frequencies, levels, sweeps = zip(*rows, strict=True) if rows else ((), (), ())
        return np.array(frequencies, np.int64), np.array(levels, np.float64), np.array(sweeps, np.int64)

    def _row(self, number: int, line: str) -> tuple[int, float, int]:
        layout, cells = self.layout, self.layout.cells(line)
        if len(cells) != layout.columns:
            raise layout.wrong(number, f"{layout.columns} cells, as before", line)
        frequency, level = number_of(cells[layout.frequency]), number_of(cells[layout.level])
        unit = unit_words(layout.hz_per_unit)
        frequency_hz = None if frequency is None else frequency * layout.hz_per_unit
        if frequency_hz is None or not FREQUENCY_HZ_MINIMUM <= frequency_hz <= FREQUENCY_HZ_MAXIMUM:
            expected = f"a frequency from 25 MHz to 8 GHz in {unit}, like the other lines"
            raise layout.wrong(number, expected, cells[layout.frequency])
        level_dbm = None if level is None else level + layout.dbm_of_zero
        if level_dbm is None or not LEVEL_DBM_MINIMUM <= level_dbm <= LEVEL_DBM_MAXIMUM:
            expected = f"a level from {LEVEL_DBM_MINIMUM:g} to {LEVEL_DBM_MAXIMUM:g} dBm"
            expected += f" once it is taken from {DBUV}" if layout.dbm_of_zero else ""
            raise layout.wrong(number, expected, cells[layout.level])
        sweep = 0 if layout.sweep is None else self._sweep(cells[layout.sweep])
        return round(frequency_hz), level_dbm, sweep

    def _sweep(self, text: str) -> int:
        return self._sweeps.setdefault(text.strip(), len(self._sweeps))


def _times_before(frequency_hz: Whole) -> Whole:
    """How often each frequency came before: the first sweep is that of the first times, and so on."""
    order = np.argsort(frequency_hz, kind="stable")
    ordered = frequency_hz[order]
    starts = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1]]))
    lengths = np.diff(np.append(starts, ordered.size))
    times = np.empty(ordered.size, np.int64)
    times[order] = np.arange(ordered.size) - np.repeat(starts, lengths)
    return times


def _is_even(text: str, layout: Layout) -> bool:
    """Whether every line has as many delimiters as there must be; blanks are counted by the reader of numbers."""
    if not layout.delimiter:
        return layout.columns == 2
    characters = np.frombuffer(text.encode("utf-8", "surrogateescape"), np.uint8)
    ends = np.flatnonzero(characters == ord("\n"))
    before = np.cumsum(characters == ord(layout.delimiter))[ends]
    return bool(np.all(np.diff(before, prepend=0) == layout.columns - 1))


def _chunks(file: BinaryIO, name: str) -> Iterator[str]:
    """Whole lines, some thousands at a time, each with its end; the first chunk holds the head of the file."""
    beginning = file.read(2)
    encoding = "utf-16" if beginning in {b"\xff\xfe", b"\xfe\xff"} else "utf-8-sig"
    file.seek(0)
    text = io.TextIOWrapper(file, encoding, errors="surrogateescape", newline=None)
    carried, line = "", 1
    try:
        while block := text.read(_CHUNK_CHARACTERS):
            # A block that is shorter than asked for is the last one, and its last line may lack an end.
            last = "\n" if len(block) < _CHUNK_CHARACTERS and not block.endswith("\n") else ""
            whole, end, carried = (carried + block + last).rpartition("\n")
            line += whole.count("\n") + len(end)
            if len(carried) > LINE_LENGTH_MAXIMUM:
                raise wrong_line(name, line, f"at most {LINE_LENGTH_MAXIMUM} characters", "more")
            if end:
                yield whole + end
        if carried:
            yield carried + "\n"
    except UnicodeError as error:
        raise InvalidDocument(name, f"line {line}", "text in UTF-8 or UTF-16", str(error)) from error
    finally:
        text.detach()
