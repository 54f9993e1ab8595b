"""A scan as the body of a document: the facts as they are, read strictly."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

from fleet.errors import InvalidDocument
from fleet.model.survey import LEVEL_DBM_MAXIMUM, LEVEL_DBM_MINIMUM, POINTS_MAXIMUM, Scan

_Name = Annotated[str, Meta(max_length=128)]
_Words = Annotated[str, Meta(max_length=1_024)]
_Hz = Annotated[int, Meta(gt=0, le=10_000_000_000)]
_Level = Annotated[float, Meta(ge=LEVEL_DBM_MINIMUM, le=LEVEL_DBM_MAXIMUM)]
_Share = Annotated[float, Meta(ge=0.0, le=1.0)]
_Levels = Annotated[tuple[_Level | None, ...], Meta(min_length=1, max_length=POINTS_MAXIMUM)]
_Shares = Annotated[tuple[_Share | None, ...], Meta(min_length=1, max_length=POINTS_MAXIMUM)]
_UTC_US_MAXIMUM = 253_402_300_800_000_000
"""The end of the year 9999, which no calendar of ours passes."""


class _Body(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    place: Annotated[str, Meta(min_length=1, max_length=128)]
    taken_at_utc_us: Annotated[int, Meta(ge=0, lt=_UTC_US_MAXIMUM)]
    instrument: _Name
    source: Literal["act", "file"]
    file: _Name
    simulated: bool
    calibrated: bool | None
    bandwidth_hz: _Hz | None
    sweeps: Annotated[int, Meta(ge=1)]
    words: _Words
    start_hz: _Hz
    step_hz: _Hz
    maximum_dbm: _Levels
    median_dbm: _Levels
    occupancy: _Shares


def scan_as_object(scan: Scan) -> dict[str, Any]:
    """The scan as plain JSON values, without its id, which is the document's name."""
    made: dict[str, Any] = msgspec.to_builtins(scan, builtin_types=())
    del made["scan_id"]
    return made


def scan_of_object(scan_id: str, values: Mapping[str, Any]) -> Scan:
    """Read a scan from plain JSON values.

    Raises InvalidDocument with the key and what was expected there; unknown keys are refused.
    """
    try:
        body = msgspec.convert(values, _Body)
    except msgspec.ValidationError as error:
        sentence, _, path = str(error).partition(" - at `$")
        raise InvalidDocument(scan_id, path.strip("`.") or "document", "what a scan can say", sentence) from error
    points = len(body.maximum_dbm)
    for key in ("median_dbm", "occupancy"):
        levels = getattr(body, key)
        if len(levels) != points:
            raise InvalidDocument(scan_id, key, f"{points} values, as maximum_dbm has", len(levels))
        gaps = [index for index, level in enumerate(levels) if (level is None) != (body.maximum_dbm[index] is None)]
        if gaps:
            raise InvalidDocument(scan_id, f"{key}[{gaps[0]}]", "null where maximum_dbm has null, and there alone")
    return Scan(scan_id=scan_id, **{name: getattr(body, name) for name in body.__struct_fields__})
