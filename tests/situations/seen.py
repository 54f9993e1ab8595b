"""A stretch of a recording as the classifier looks at it, with what was usual before."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from tests.situations.recording import FRAME_S, Channel, Recording
from tests.situations.thresholds import GONE_ABOVE_FLOOR_DB

# What is usual is what was so in these seconds, when everything was tried and found good.
USUAL_S = (2.0, 12.0)
Numbers = NDArray[np.float64]


def median(values: Numbers) -> float:
    """The median of what was heard; NaN where nothing was."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        return float(np.nanmedian(values))


def share(flags: NDArray[np.bool_], among: NDArray[np.bool_] | None = None) -> float:
    """The share of frames in which something is so; 0 of none."""
    chosen = flags if among is None else flags[among]
    return float(np.mean(chosen)) if chosen.size else 0.0


@dataclass(frozen=True)
class Seen:
    """From one second to another of a recording."""

    recording: Recording
    since_s: float
    until_s: float

    @property
    def channels(self) -> tuple[Channel, ...]:
        """All channels."""
        return self.recording.channels

    @cached_property
    def window(self) -> slice:
        """The frames of it."""
        return slice(round(self.since_s / FRAME_S), round(self.until_s / FRAME_S) + 1)

    @cached_property
    def times_s(self) -> Numbers:
        """The time of each of its frames."""
        return np.asarray(np.arange(self.recording.frames)[self.window] * FRAME_S, dtype=np.float64)

    def now(self, address: str, name: str) -> Numbers:
        """A reading in it."""
        return self.recording.reading(address, name)[self.window]

    def usual(self, address: str, name: str) -> float:
        """What a reading usually was, as a median."""
        first, last = (round(second / FRAME_S) for second in USUAL_S)
        return median(self.recording.reading(address, name)[first:last])

    def level(self, branch: str) -> float:
        """The level at a branch, as a median."""
        return median(self.now(branch, "rf_dbm"))

    def floor(self, branch: str) -> float:
        """The floor of a branch, as a median."""
        return median(self.now(branch, "floor_dbm"))

    def best(self, channel: Channel, name: str = "rf_dbm") -> Numbers:
        """The better branch at each frame."""
        each = np.stack([self.now(branch, name) for branch in channel.branches])
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)
            found: Numbers = np.nanmax(each, axis=0)
        return found

    def quality(self, channel: Channel) -> float:
        """The mean quality of its link; NaN on an analog one."""
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RuntimeWarning)
            return float(np.nanmean(self.now(channel.carrier, "link_quality")))

    def is_heard(self, channel: Channel) -> bool:
        """Whether its device reports in most of the frames."""
        return share(~np.isnan(self.now(channel.branches[0], "rf_dbm"))) >= 0.5

    def is_gone(self, channel: Channel) -> bool:
        """Whether its carrier isn't there on either branch, as a rule."""
        return all(self.level(branch) < self.floor(branch) + GONE_ABOVE_FLOOR_DB for branch in channel.branches)

    def number(self, address: str, name: str) -> float:
        """A setting as it stands at the end; NaN where there is none."""
        value = self.recording.setting(address, name, self.until_s)
        return float(value) if isinstance(value, int | float) else float("nan")

    def path(self, branch: str) -> str:
        """The antenna that a branch is wired to."""
        return self.recording.plan.antenna[branch]
