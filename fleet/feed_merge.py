"""Frames of the live tables: merged where some were skipped, encoded once, shared by all who see the same."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import msgspec
import numpy as np
from numpy.typing import NDArray

from fleet.feed_frames import Columns, Stamp, encode_readings
from fleet.model.address import Place
from fleet.model.fields import Field, Merge
from fleet.model.quality import Quality
from fleet.readings import AGE_NEVER


class Form(StrEnum):
    """How readings travel."""

    BINARY = "binary"
    JSON = "json"


@dataclass(frozen=True, slots=True)
class TableFrame:
    """One table as a view sees it at one tick; every array is shaped [column, row].

    ``skipped`` holds, where frames were skipped before this one, the extremes of the good values in them.
    """

    place: Place
    addresses: tuple[str, ...]
    indices: tuple[int, ...]
    fields: tuple[Field, ...]
    values: NDArray[np.float64]
    qualities: NDArray[np.uint8]
    ages_100ms: NDArray[np.uint16]
    skipped: NDArray[np.float64] | None = None

    def merged(self) -> NDArray[np.float64]:
        """The values to show: the latest, but the extremes of the skipped ones where those are further out.

        Where nothing is known any more, nothing is shown: an extreme of the past would look live.
        """
        if self.skipped is None:
            return self.values
        values = self.values.copy()
        for row, field in enumerate(self.fields):
            if field.merge is not Merge.LATEST:
                present = ~np.isnan(values[row])
                values[row, present] = _further(field.merge, values[row], self.skipped[row])[present]
        return values

    def after(self, before: TableFrame) -> TableFrame:
        """This frame when ``before`` was never shown.

        Least keeps the least of both, most and any the most, latest this one's. Rows that came later have no past.
        """
        past = before.extremes()
        grown = self.values.shape[1] - past.shape[1]
        if grown > 0:
            past = np.hstack([past, np.full((past.shape[0], grown), np.nan)])
        return replace(self, skipped=past)

    def extremes(self) -> NDArray[np.float64]:
        """The extremes of the good values of this frame and those skipped before it, NaN where there were none."""
        good = np.where(self.qualities == Quality.GOOD, self.values, np.nan)
        if self.skipped is None:
            return good
        for row, field in enumerate(self.fields):
            good[row] = _further(field.merge, good[row], self.skipped[row])
        return good


def _further(merge: Merge, one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    """The value further out by that rule; a NaN gives way to the other."""
    further: NDArray[np.float64]
    match merge:
        case Merge.LEAST:
            further = np.fmin(one, other)
        case Merge.MOST | Merge.ANY:
            further = np.fmax(one, other)
        case Merge.LATEST:
            further = one
    return further


class Frame:
    """What a view shows at one tick. Encoded when somebody first needs it, and then shared."""

    def __init__(self, stamp: Stamp, form: Form, tables: tuple[TableFrame, ...]) -> None:
        self.stamp = stamp
        self._form = form
        self._tables = tables
        self._encoded: tuple[bytes | str, ...] | None = None
        self._after: dict[int, tuple[Frame, Frame]] = {}

    def messages(self) -> tuple[bytes | str, ...]:
        """One message a table: bytes, or text for people."""
        if self._encoded is None:
            encode = encode_binary if self._form is Form.BINARY else encode_json
            self._encoded = tuple(encode(self.stamp, table) for table in self._tables)
        return self._encoded

    def after(self, before: Frame) -> Frame:
        """This frame for those to whom ``before`` was never shown; made once for all who are equally behind."""
        known = self._after.get(id(before))
        if known is None:
            pairs = zip(self._tables, before._tables, strict=True)
            merged = Frame(self.stamp, self._form, tuple(now.after(earlier) for now, earlier in pairs))
            # The earlier frame is kept beside the merged one, so that its id stays its own.
            known = self._after[id(before)] = (before, merged)
        return known[1]

    def forget(self) -> None:
        """Let go of what was only kept to be shared with others of the same tick."""
        self._after.clear()


def encode_binary(stamp: Stamp, table: TableFrame) -> bytes:
    """A table's frame as bytes."""
    planes = tuple(field.plane for field in table.fields)
    columns = Columns(table.indices, planes, table.merged(), table.qualities, table.ages_100ms)
    return encode_readings(table.place, stamp, columns)


def encode_json(stamp: Stamp, table: TableFrame) -> str:
    """A table's frame as plain JSON, for people: a coded value is its number, an age is in seconds or null."""
    names = [field.name for field in table.fields]
    values, qualities, ages = table.merged().T.tolist(), table.qualities.T.tolist(), table.ages_100ms.T.tolist()
    rows = {
        address: {name: _cell(*cell) for name, *cell in zip(names, values[at], qualities[at], ages[at], strict=True)}
        for at, address in enumerate(table.addresses)
    }
    body = {
        "type": "readings",
        "at_utc_us": stamp.at.utc_us,
        "table": table.place,
        "columns": names,
        "rows": rows,
    }
    return msgspec.json.encode(body).decode()


def _cell(value: float, quality: int, age_100ms: int) -> dict[str, float | int | None]:
    # NaN differs from itself; msgspec writes it as null in any case.
    return {"value": value, "quality": quality, "age_s": None if age_100ms == AGE_NEVER else age_100ms / 10}
