"""What gear can be tuned to and what it needs, in the shapes that a request for frequencies takes."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TuningRanges:
    """The frequencies of some gear: from the start of each range on, every ``step_hz`` up to its end.

    ``words`` say what they hang on, empty for nothing.
    """

    name: str
    step_hz: int
    ranges: tuple[tuple[int, ...], ...]
    words: str = ""


@dataclass(frozen=True, slots=True)
class ProfileOfGear:
    """What a carrier of some gear needs. Digital ones bear products down to a carrier-to-interference in dB."""

    name: str
    spacing_hz: int
    third_two_signal_hz: int = 0
    third_three_signal_hz: int = 0
    fifth_two_signal_hz: int = 0
    carrier_to_interference_db: float | None = None


@dataclass(frozen=True, slots=True)
class GearTuning:
    """Carriers that are tuned alike and need the same, as they are set now; ``carriers`` are their addresses."""

    tuning: TuningRanges
    profile: ProfileOfGear
    carriers: tuple[str, ...]
