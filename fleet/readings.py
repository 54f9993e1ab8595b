"""The live tables: one per kind of thing, one numpy array per reading over all rows.

Rows are only appended within an epoch, so an index once given stays right. An absent value is NaN with the quality
ABSENT; a value too old to act on keeps its number and becomes UNCERTAIN. The state alone writes here; rules, the recent
past and the feed read.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.errors import LimitReached
from fleet.model.address import Place
from fleet.model.fields import GOODBYES, Field, column_fields
from fleet.model.moment import Moment
from fleet.model.quality import Quality
from fleet.model.snapshot import ColumnView, TableView

ROWS_MAXIMUM = 20_000
"""Rows of one table in one epoch; beyond it a description is refused."""
UNCERTAIN_AFTER_US = 2_000_000
UNCERTAIN_INTERVALS = 2
NEVER_US = -(2**62)
AGE_UNIT_US = 100_000
AGE_NEVER = 65_535
_ROWS_AT_FIRST = 32
_GOOD = int(Quality.GOOD)
_STANDBY = float(GOODBYES.index("standby"))


@dataclass(frozen=True, slots=True)
class Cells:
    """Cells of one table as parallel index arrays: one column and one row for each."""

    columns: NDArray[np.intp]
    rows: NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Written:
    """What is put into cells: parallel arrays, times in microseconds of the monotonic scale."""

    values: NDArray[np.float64]
    qualities: NDArray[np.uint8]
    at_us: NDArray[np.int64]
    interval_us: NDArray[np.int64]


class LiveTable:
    """The readings of one kind of thing.

    All arrays are shaped [column, row] and end at the last row in use; take them anew after rows were appended.
    """

    def __init__(self, place: Place) -> None:
        self.place = place
        self.fields: tuple[Field, ...] = column_fields(place)
        self.column_of = {field.name: index for index, field in enumerate(self.fields)}
        self._row_of: dict[str, int] = {}
        self._count = 0
        self._addresses: tuple[str, ...] = ()
        shape = (len(self.fields), _ROWS_AT_FIRST)
        self._values = np.full(shape, np.nan, dtype=np.float64)
        self._qualities = np.full(shape, Quality.ABSENT, dtype=np.uint8)
        self._updated_us = np.full(shape, NEVER_US, dtype=np.int64)
        self._interval_us = np.zeros(shape, dtype=np.int64)

    def __len__(self) -> int:
        return self._count

    @property
    def addresses(self) -> tuple[str, ...]:
        """The rows' addresses, in row order."""
        if len(self._addresses) != len(self._row_of):
            self._addresses = tuple(self._row_of)
        return self._addresses

    @property
    def values(self) -> NDArray[np.float64]:
        """The last known values, NaN where absent."""
        return self._values[:, : self._count]

    @property
    def qualities(self) -> NDArray[np.uint8]:
        """The quality of each value, as of the last tick."""
        return self._qualities[:, : self._count]

    @property
    def updated_us(self) -> NDArray[np.int64]:
        """The monotonic time at which each cell was last reported; ``NEVER_US`` before the first time."""
        return self._updated_us[:, : self._count]

    @property
    def interval_us(self) -> NDArray[np.int64]:
        """The interval at which each cell is promised; 0 before it is known."""
        return self._interval_us[:, : self._count]

    def good(self, name: str) -> NDArray[np.float64]:
        """The values of one column that are good, NaN where they aren't."""
        column = self.column_of[name]
        return np.where(self.qualities[column] == _GOOD, self.values[column], np.nan)

    def row_of(self, address: str) -> int | None:
        """The row of an address, or None when it has none."""
        return self._row_of.get(address)

    def append(self, address: str) -> int:
        """The row of that address, made when it has none yet.

        Raises LimitReached beyond ``ROWS_MAXIMUM``.
        """
        row = self._row_of.get(address)
        if row is not None:
            return row
        if len(self) >= ROWS_MAXIMUM:
            raise LimitReached(f"rows of the {self.place} table", ROWS_MAXIMUM)
        if len(self) == self._values.shape[1]:
            self._grow()
        row = len(self)
        self._row_of[address] = row
        self._count += 1
        return row

    def _grow(self) -> None:
        more = self._values.shape
        self._values = np.hstack([self._values, np.full(more, np.nan)])
        self._qualities = np.hstack([self._qualities, np.full(more, Quality.ABSENT, dtype=np.uint8)])
        self._updated_us = np.hstack([self._updated_us, np.full(more, NEVER_US, dtype=np.int64)])
        self._interval_us = np.hstack([self._interval_us, np.zeros(more, dtype=np.int64)])

    def write(self, cells: Cells, written: Written) -> None:
        """Put values into cells."""
        where = (cells.columns, cells.rows)
        self._values[where] = written.values
        self._qualities[where] = written.qualities
        self._updated_us[where] = written.at_us
        self._interval_us[where] = written.interval_us

    def write_column(self, name: str, values: NDArray[np.float64], qualities: NDArray[np.uint8], at_us: int) -> None:
        """Put a value into every row of one column."""
        column = self.column_of[name]
        self.values[column] = values
        self.qualities[column] = qualities
        self.updated_us[column] = at_us

    def age(self, at_us: int) -> None:
        """Make good values uncertain that are older than the later of two seconds and two of their intervals."""
        if self._count == 0:
            return
        limit_us = np.maximum(UNCERTAIN_AFTER_US, UNCERTAIN_INTERVALS * self.interval_us)
        old = (self.qualities == _GOOD) & (at_us - self.updated_us > limit_us)
        if old.any():
            self.qualities[old] = Quality.UNCERTAIN

    def doubt(self, rows: NDArray[np.intp]) -> None:
        """Make every good value of those rows uncertain at once."""
        part = self._qualities[:, rows]
        part[part == Quality.GOOD] = Quality.UNCERTAIN
        self._qualities[:, rows] = part

    def forget(self, rows: NDArray[np.intp]) -> None:
        """Make every value of those rows absent: the thing is no longer there."""
        self._values[:, rows] = np.nan
        self._qualities[:, rows] = Quality.ABSENT

    def ages_100ms(self, at: Moment) -> NDArray[np.uint16]:
        """Ages in tenths of a second, shaped [column, row]; ``AGE_NEVER`` where absent, never reported or older."""
        ages = (at.monotonic_us - self.updated_us) // AGE_UNIT_US
        ages[self.qualities == Quality.ABSENT] = AGE_NEVER
        clipped: NDArray[np.uint16] = np.minimum(np.maximum(ages, 0), AGE_NEVER).astype(np.uint16)
        return clipped

    def view(self) -> TableView:
        """The table's shape as subscribers get it."""
        columns = tuple(ColumnView(field.name, field.plane, field.unit, field.choices) for field in self.fields)
        return TableView(self.place, self.addresses, columns)


class LiveTables:
    """All live tables. ``version`` rises whenever rows were appended."""

    def __init__(self) -> None:
        self._tables = {place: LiveTable(place) for place in Place}
        self.version = 0

    def __getitem__(self, place: Place) -> LiveTable:
        return self._tables[place]

    def append(self, addresses: Iterable[tuple[Place, str]]) -> None:
        """Make rows for addresses that have none.

        Raises LimitReached, before any row is made, when one table would have too many.
        """
        new = [(place, text) for place, text in dict.fromkeys(addresses) if self[place].row_of(text) is None]
        for place in Place:
            if len(self[place]) + sum(1 for of, _ in new if of is place) > ROWS_MAXIMUM:
                raise LimitReached(f"rows of the {place} table", ROWS_MAXIMUM)
        for place, address in new:
            self[place].append(address)
        if new:
            self.version += 1

    def age(self, at: Moment) -> None:
        """Let values grow old, in every table."""
        for table in self._tables.values():
            table.age(at.monotonic_us)

    def views(self) -> tuple[TableView, ...]:
        """The shapes of all tables, in the order of ``Place``."""
        return tuple(table.view() for table in self._tables.values())


def packs_asleep(tables: LiveTables) -> NDArray[np.bool_]:
    """Which packs are asleep by their own last word: they said so, or took their leave into standby."""
    table = tables[Place.PACK]
    asleep, goodbye = table.column_of["asleep"], table.column_of["goodbye"]
    trusted = table.qualities != Quality.BAD
    said: NDArray[np.bool_] = trusted[asleep] & (table.values[asleep] == 1.0)
    left: NDArray[np.bool_] = trusted[goodbye] & (table.values[goodbye] == _STANDBY)
    return said | left
