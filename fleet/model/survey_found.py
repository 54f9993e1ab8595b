"""What scans show: a floor, what stands out of it, which blocks are taken, what has changed since another scan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from fleet.model.survey import Levels


@dataclass(frozen=True, slots=True)
class FloorPoint:
    """The floor at one frequency; between two of them it lies on the straight line, beyond the last it stays."""

    frequency_hz: int
    floor_dbm: float


@dataclass(frozen=True, slots=True)
class FoundCarrier:
    """Something that stands out of the floor.

    ``start_hz`` and ``stop_hz`` are the outer edges of its points, ``centre_hz`` the middle of its power. ``occupancy``
    is the greatest of its points, ``block`` the name of the occupied block that it belongs to, empty for none: what
    belongs to one is part of a broadcast, not a carrier of its own. ``wide`` is more than a microphone takes.
    """

    peak_hz: int
    peak_dbm: float
    above_floor_db: float
    centre_hz: int
    start_hz: int
    stop_hz: int
    occupancy: float
    wide: bool = False
    block: str = ""


@dataclass(frozen=True, slots=True)
class FoundBlock:
    """A block of a region's raster as the scan shows it.

    ``share`` is how much of its points stands above the floor, None where the scan doesn't reach it; ``level_dbm`` the
    power of the whole block, None too where the bandwidth of the levels isn't known.
    """

    name: str
    start_hz: int
    stop_hz: int
    television: bool
    occupied: bool
    share: float | None
    level_dbm: float | None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Exclusion:
    """A stretch that carriers keep out of, as a request for frequencies takes it; both ends are excluded."""

    start_hz: int
    stop_hz: int
    words: str = ""


@dataclass(frozen=True, slots=True)
class ScanFound:
    """What a scan shows: its floor, what stands ``threshold_db`` above it, and what to keep out of.

    ``looks`` is how many independent looks the noise of each level seems averaged over, None where it doesn't move.
    """

    scan_id: str
    region: str
    threshold_db: float
    looks: float | None
    floor: tuple[FloorPoint, ...]
    carriers: tuple[FoundCarrier, ...]
    blocks: tuple[FoundBlock, ...]
    exclusions: tuple[Exclusion, ...]
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ScanChange:
    """A stretch that another scan shows otherwise: the greatest level within, before and after."""

    start_hz: int
    stop_hz: int
    change: Literal["came", "went", "louder", "quieter"]
    before_dbm: float
    after_dbm: float
    change_db: float


@dataclass(frozen=True, slots=True)
class ScanComparison:
    """Two scans held against each other where both have measured, on the wider of their steps.

    ``difference_db`` is after less before, None where either has nothing.
    """

    before: str
    after: str
    start_hz: int
    step_hz: int
    difference_db: Levels
    changes: tuple[ScanChange, ...]
    floor_change_db: float | None
    words: tuple[str, ...] = ()
