"""Microphones and their leads: how loud the source is, and a lead that breaks contact when its wearer moves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.luck import Luck

# Assumptions: from what speed on a broken lead plays up, and how it spends the blocks of a tenth of a second then.
MOVING_M_S = 0.3
SILENT_SHARE = 0.45
CRACKLING_SHARE = 0.35


@dataclass(frozen=True, slots=True)
class Leads:
    """What broken leads do in one block, [packs]: exact silence, or a crackle at full scale."""

    silent: NDArray[np.bool_]
    crackling: NDArray[np.bool_]


class Microphones:
    """The microphones of all packs; ``source_db`` [packs] is how much louder the source is than usual."""

    def __init__(self, names: Sequence[str], luck: Luck) -> None:
        self.source_db = np.zeros(len(names))
        self._names = tuple(names)
        self._luck = luck
        self._broken: dict[int, np.random.Generator] = {}
        sound = np.zeros(len(names), dtype=np.bool_)
        self._sound = Leads(sound, sound)

    def break_lead(self, pack: int) -> None:
        """The lead of a pack breaks."""
        self._broken.setdefault(pack, self._luck.generator(f"lead of {self._names[pack]}"))

    def mend_lead(self, pack: int) -> None:
        """The lead of a pack is another one now."""
        self._broken.pop(pack, None)

    def take(self, speed_m_s: NDArray[np.float64]) -> Leads:
        """What the leads do in the next block."""
        if not self._broken:
            return self._sound
        silent, crackling = self._sound.silent.copy(), self._sound.crackling.copy()
        for pack, draws in self._broken.items():
            drawn = draws.uniform()
            if speed_m_s[pack] >= MOVING_M_S:
                silent[pack] = drawn < SILENT_SHARE
                crackling[pack] = SILENT_SHARE <= drawn < SILENT_SHARE + CRACKLING_SHARE
        return Leads(silent, crackling)
