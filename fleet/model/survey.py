"""A survey of the spectrum as it is kept: what was heard at each frequency, and where, when and with what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

SCAN = "scan"
"""The kind of document that a scan is kept as."""
POINTS_MAXIMUM = 20_000
"""A longer scan is put on a wider step, of which each point holds the greatest level."""
LEVEL_DBM_MINIMUM = -200.0
LEVEL_DBM_MAXIMUM = 60.0
"""No receiver for microphones tells levels beyond these: what does is of another unit, or damaged."""

Levels = tuple[float | None, ...]
"""One level for each point, None where nothing was measured."""
Source = Literal["act", "file"]


@dataclass(frozen=True, slots=True)
class Circumstances:
    """Where, when and with what a scan was made.

    ``instrument`` is an address of a branch or free words. ``calibrated`` is None where nobody has said. ``words`` tell
    what a reader of the levels must know, such as that the step was widened.
    """

    place: str
    taken_at_utc_us: int
    instrument: str = ""
    source: Source = "file"
    file: str = ""
    simulated: bool = False
    calibrated: bool | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Scan:
    """One scan: the first point at ``start_hz``, then one every ``step_hz``, at most POINTS_MAXIMUM of them.

    ``maximum_dbm`` is the greatest level of all ``sweeps``, ``median_dbm`` their median, ``occupancy`` the share of
    them that stood clearly above the floor; None where nothing was measured. ``bandwidth_hz`` is what each level was
    measured in, None where that isn't known.
    """

    scan_id: str
    place: str
    taken_at_utc_us: int
    instrument: str
    source: Source
    file: str
    simulated: bool
    calibrated: bool | None
    bandwidth_hz: int | None
    sweeps: int
    words: str
    start_hz: int
    step_hz: int
    maximum_dbm: Levels
    median_dbm: Levels
    occupancy: Levels

    @property
    def stop_hz(self) -> int:
        """The frequency of the last point."""
        return self.start_hz + (len(self.maximum_dbm) - 1) * self.step_hz


@dataclass(frozen=True, slots=True)
class ScanFacts:
    """A scan in a list: everything but its levels, and who keeps it since when."""

    scan_id: str
    place: str
    taken_at_utc_us: int
    instrument: str
    source: Source
    file: str
    simulated: bool
    calibrated: bool | None
    bandwidth_hz: int | None
    sweeps: int
    words: str
    start_hz: int
    step_hz: int
    points: int
    by: str = ""
    at_utc_us: int | None = None
