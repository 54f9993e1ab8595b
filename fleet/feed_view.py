"""What one subscriber sees of the live tables: which rows and columns, and how often."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fleet.errors import NotFound, ValueRefused
from fleet.feed_frames import Stamp
from fleet.feed_merge import Form, Frame, TableFrame
from fleet.model.address import Place
from fleet.model.fields import column_fields
from fleet.model.quality import Quality
from fleet.readings import AGE_NEVER, LiveTable, LiveTables

RATE_HZ_MAXIMUM = 10
ROWS_MAXIMUM = 20_000
_ABSENT_ROW = -1
Names = Mapping[Place, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class View:
    """What a subscriber wants: at most ``rate_hz`` frames a second, these columns and rows by table, or all.

    A table that ``columns`` or ``rows`` is given for, but doesn't name, is not sent. Rows that don't exist yet are
    absent until they do.
    """

    rate_hz: int = RATE_HZ_MAXIMUM
    form: Form = Form.BINARY
    columns: Names | None = None
    rows: Names | None = None

    def check(self) -> None:
        """Raise ValueRefused or NotFound when the view asks for what can't be shown."""
        if not 1 <= self.rate_hz <= RATE_HZ_MAXIMUM:
            allowed = {"minimum": 1, "maximum": RATE_HZ_MAXIMUM}
            raise ValueRefused("live", "rate_hz", f"must be 1 to {RATE_HZ_MAXIMUM}", allowed)
        for place, names in (self.columns or {}).items():
            known = [field.name for field in column_fields(place)]
            for name in names:
                if name not in known:
                    raise NotFound(f"column of the {place} table", name)
        if sum(len(names) for names in (self.rows or {}).values()) > ROWS_MAXIMUM:
            raise ValueRefused("live", "rows", f"must be at most {ROWS_MAXIMUM}", {"maximum": ROWS_MAXIMUM})

    @property
    def key(self) -> tuple[object, ...]:
        """The same for views that see the same at the same rate, so that they share frames."""
        return (self.rate_hz, self.form, _frozen(self.columns), _frozen(self.rows))


def _frozen(names: Names | None) -> tuple[tuple[Place, tuple[str, ...]], ...] | None:
    return None if names is None else tuple(sorted(names.items()))


class Selection:
    """A view applied to the live tables: resolved to indices, again whenever rows were appended."""

    def __init__(self, view: View) -> None:
        self._view = view
        self._version = -1
        self._rows: dict[Place, NDArray[np.intp] | None] = {}
        self._columns = {place: tuple(self._chosen(place)) for place in Place}

    def frame(self, stamp: Stamp, tables: LiveTables) -> Frame:
        """What the view shows now; the arrays are copies."""
        if self._version != tables.version:
            self._rows = {place: self._row_indices(tables[place]) for place in self._shown()}
            self._version = tables.version
        shown = tuple(self._table_frame(tables[place], stamp) for place in self._shown())
        return Frame(stamp, self._view.form, shown)

    def _shown(self) -> Iterator[Place]:
        rows = self._view.rows
        return (place for place in Place if self._columns[place] and (rows is None or place in rows))

    def _chosen(self, place: Place) -> Iterator[int]:
        columns = self._view.columns
        wanted = None if columns is None else columns.get(place, ())
        for index, field in enumerate(column_fields(place)):
            if wanted is None or field.name in wanted:
                yield index

    def _row_indices(self, table: LiveTable) -> NDArray[np.intp] | None:
        if self._view.rows is None:
            return None
        found = (table.row_of(address) for address in self._view.rows[table.place])
        return np.array([_ABSENT_ROW if row is None else row for row in found], dtype=np.intp)

    def _table_frame(self, table: LiveTable, stamp: Stamp) -> TableFrame:
        columns = self._columns[table.place]
        rows = self._rows[table.place]
        picked = list(columns)
        values, qualities, ages = table.values[picked], table.qualities[picked], table.ages_100ms(stamp.at)[picked]
        addresses = table.addresses
        if rows is not None:
            addresses = (self._view.rows or {})[table.place]
            values = _picked(values, rows, np.nan)
            qualities = _picked(qualities, rows, Quality.ABSENT)
            ages = _picked(ages, rows, AGE_NEVER)
        fields = tuple(table.fields[index] for index in columns)
        return TableFrame(table.place, addresses, columns, fields, values, qualities, ages)


def _picked(plane: NDArray[Any], rows: NDArray[np.intp], absent: float) -> NDArray[Any]:
    """The plane at those rows, with ``absent`` where a row doesn't exist."""
    spare = np.full((plane.shape[0], 1), absent, dtype=plane.dtype)
    return np.hstack([plane, spare])[:, rows]
