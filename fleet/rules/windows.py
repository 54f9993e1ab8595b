"""What a single sample can't show: readings smoothed over some seconds, and how fast a counter climbs.

Kept by the engine from tick to tick, as arrays over the rows. Only good samples count, each once; after a gap of more
than five seconds a window begins anew, and until it is full nothing is said.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.quality import Quality
from fleet.readings import NEVER_US, LiveTable, LiveTables

GAP_MAXIMUM_US = 5_000_000
"""A gap this long empties a window; common practice, as for the delays of rules."""
LEVEL_OVER_US = 10_000_000
"""A branch's level is smoothed over so long: longer than fading, shorter than a walk. Common practice."""
DAMAGE_OVER_US = 10_000_000
"""Damage to the audio is taken as its share of about so long. Common practice."""
OVERLOAD_OVER_US = 3_000_000
"""Overload of a pack's input is taken as its share of about so long. Common practice."""
SLIPS_OVER_US = 60_000_000
"""Slips are counted over so long: one part in a million slips every twenty seconds. Common practice."""
_RATE_STEPS = 12


class Smoothed:
    """One reading, smoothed by an exponential window; NaN until a whole window was heard."""

    def __init__(self, place: Place, name: str, over_us: int) -> None:
        self.place = place
        self._name = name
        self._over_us = over_us
        self._mean: NDArray[np.float64] = np.zeros(0)
        self._heard_us: NDArray[np.int64] = np.zeros(0, dtype=np.int64)
        self._last_us: NDArray[np.int64] = np.zeros(0, dtype=np.int64)

    @property
    def values(self) -> NDArray[np.float64]:
        """The smoothed values over the rows."""
        return np.where(self._heard_us >= self._over_us, self._mean, np.nan)

    def feed(self, table: LiveTable) -> None:
        """Take in what is new."""
        self._grow(len(table))
        column = table.column_of[self._name]
        updated_us = table.updated_us[column]
        new = (table.qualities[column] == Quality.GOOD) & (updated_us > self._last_us)
        if not new.any():
            return
        elapsed_us = updated_us - self._last_us
        begins = new & (elapsed_us > GAP_MAXIMUM_US)
        share = -np.expm1(-np.clip(elapsed_us, 0, GAP_MAXIMUM_US) / self._over_us)
        value = table.values[column]
        moved = np.where(begins, value, self._mean + share * (value - self._mean))
        self._mean = np.where(new, moved, self._mean)
        self._heard_us = np.where(begins, 0, self._heard_us + np.where(new, elapsed_us, 0))
        self._last_us = np.where(new, updated_us, self._last_us)

    def _grow(self, rows: int) -> None:
        more = rows - len(self._mean)
        if more > 0:
            self._mean = np.pad(self._mean, (0, more))
            self._heard_us = np.pad(self._heard_us, (0, more))
            self._last_us = np.pad(self._last_us, (0, more), constant_values=NEVER_US)


class Rate:
    """How fast a counter climbs, a minute; NaN until a whole window was heard."""

    def __init__(self, place: Place, name: str, over_us: int) -> None:
        self.place = place
        self._name = name
        self._step_us = over_us // _RATE_STEPS
        self._counts: NDArray[np.float64] = np.full((_RATE_STEPS + 1, 0), np.nan)
        self._at_us: NDArray[np.int64] = np.zeros((_RATE_STEPS + 1, 0), dtype=np.int64)

    @property
    def per_minute(self) -> NDArray[np.float64]:
        """The rate over the rows, from the oldest to the newest sample of the window."""
        climbed = self._counts[-1] - self._counts[0]
        elapsed_us = self._at_us[-1] - self._at_us[0]
        known = np.isfinite(climbed) & (elapsed_us > 0)
        rate: NDArray[np.float64] = np.divide(
            climbed * 60e6, elapsed_us, out=np.full(climbed.shape, np.nan), where=known
        )
        return rate

    def feed(self, table: LiveTable) -> None:
        """Take in what is new, at most once a step."""
        self._grow(len(table))
        column = table.column_of[self._name]
        updated_us = table.updated_us[column]
        due = (table.qualities[column] == Quality.GOOD) & (updated_us - self._at_us[-1] >= self._step_us)
        if not due.any():
            return
        self._begin_anew(due, updated_us, table.values[column])
        self._counts[:-1, due] = self._counts[1:, due]
        self._at_us[:-1, due] = self._at_us[1:, due]
        self._counts[-1, due] = table.values[column][due]
        self._at_us[-1, due] = updated_us[due]

    def _begin_anew(self, due: NDArray[np.bool_], updated_us: NDArray[np.int64], counts: NDArray[np.float64]) -> None:
        """Forget what was before a gap, or before a counter that fell: its device restarted."""
        gap = updated_us - self._at_us[-1] > self._step_us + GAP_MAXIMUM_US
        anew = due & (gap | (counts < self._counts[-1]))
        self._counts[:, anew] = np.nan
        self._at_us[:, anew] = NEVER_US

    def _grow(self, rows: int) -> None:
        more = rows - self._counts.shape[1]
        if more > 0:
            self._counts = np.pad(self._counts, ((0, 0), (0, more)), constant_values=np.nan)
            self._at_us = np.pad(self._at_us, ((0, 0), (0, more)), constant_values=NEVER_US)


class Windows:
    """Every window that a measure looks through."""

    def __init__(self) -> None:
        self.level_dbm = Smoothed(Place.BRANCH, "rf_dbm", LEVEL_OVER_US)
        self.damage = Smoothed(Place.CHANNEL, "audio_damage_fraction", DAMAGE_OVER_US)
        self.overload = Smoothed(Place.PACK, "input_overload", OVERLOAD_OVER_US)
        self.slips = Rate(Place.DEVICE, "slip_count", SLIPS_OVER_US)

    def feed(self, tables: LiveTables) -> None:
        """Take in what the tables have that is new; once a tick."""
        for window in (self.level_dbm, self.damage, self.overload, self.slips):
            window.feed(tables[window.place])
