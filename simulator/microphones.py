"""Microphones and their leads: how loud the source is, capsules that drown, leads that break contact with movement."""

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


@dataclass(frozen=True, slots=True)
class Wet:
    """Sweat in a capsule: what it loses in the end, from which block on, and after how many blocks it has lost that."""

    loss_db: float
    since_block: int
    within_blocks: int


class Microphones:
    """The microphones of all packs; ``source_db`` [packs] is how much louder the source is than usual."""

    def __init__(self, names: Sequence[str], luck: Luck) -> None:
        self.source_db = np.zeros(len(names))
        self._names = tuple(names)
        self._luck = luck
        self._broken: dict[int, np.random.Generator] = {}
        self._wet: dict[int, Wet] = {}
        sound = np.zeros(len(names), dtype=np.bool_)
        self._sound = Leads(sound, sound)

    @property
    def broken(self) -> frozenset[int]:
        """The packs whose leads are broken."""
        return frozenset(self._broken)

    def break_lead(self, pack: int) -> None:
        """The lead of a pack breaks."""
        self._broken.setdefault(pack, self._luck.generator(f"lead of {self._names[pack]}"))

    def mend_lead(self, pack: int) -> None:
        """The lead of a pack is another one now."""
        self._broken.pop(pack, None)

    def wet(self, pack: int, wet: Wet | None) -> None:
        """Sweat gets into a capsule, or the capsule is dry again."""
        if wet is None:
            self._wet.pop(pack, None)
        else:
            self._wet[pack] = wet

    def gains_db(self, block: int) -> NDArray[np.float64]:
        """How much louder each source is than usual in that block, less what its capsule loses, [packs]."""
        if not self._wet:
            return self.source_db
        gains_db = self.source_db.copy()
        for pack, wet in self._wet.items():
            gains_db[pack] -= wet.loss_db * min(1.0, (block - wet.since_block) / wet.within_blocks)
        return gains_db

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
