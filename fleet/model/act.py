"""How far acts are, and what they find on the way."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LevelStretch:
    """A stretch of a scan: levels at ``start_hz`` and every ``step_hz`` above it, None where nothing was measured.

    ``branch`` is the antenna input that listened, empty where the device doesn't say.
    """

    start_hz: int
    step_hz: int
    bandwidth_hz: int
    levels_dbm: tuple[float | None, ...]
    branch: str = ""
    calibrated: bool = False


@dataclass(frozen=True, slots=True)
class ActProgress:
    """How far an act is: a share of it where that can be told, words, and what a scan has found since."""

    command_id: str
    fraction: float | None = None
    words: str = ""
    levels: LevelStretch | None = None


@dataclass(frozen=True, slots=True)
class ProgressView:
    """How far an act is, as the live feed shows it. ``stretches`` counts the stretches of levels found so far."""

    fraction: float | None
    words: str
    stretches: int


@dataclass(frozen=True, slots=True)
class ScanLevels:
    """What a scan has found so far, in the order of its finding.

    ``left_out`` counts the levels beyond the bound, which are not kept.
    """

    command_id: str
    stretches: tuple[LevelStretch, ...] = ()
    left_out: int = 0
