"""Speech-like levels: scenes in which a part speaks, phrases, syllables and pauses, each part with its own pattern.

The shape is an assumption: no recording stands behind it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from simulator.luck import Luck

SILENT_DB = -200.0
CREST_DB = 12.0
_AHEAD_BLOCKS = 256
# In blocks of a tenth of a second.
_SCENE_BLOCKS = (150, 700)
_PHRASE_BLOCKS = (12, 60)
_PAUSE_BLOCKS = (4, 25)
_SYLLABLE_BLOCKS = (2, 4)
_DIP_DB = 9.0
_SPREAD_DB = 2.5
_LOUDEST_DB = 6.0


class Speech:
    """The speech of all parts: its rms level in each block, in dB about the part's usual level."""

    def __init__(self, parts: Sequence[tuple[str, float]], luck: Luck) -> None:
        self._scripts = [_script(luck.generator(f"speech of {name}"), talk) for name, talk in parts]
        self._ahead: NDArray[np.float64] = np.empty((0, len(parts)))
        self._left = [np.empty(0) for _ in parts]
        self._next = 0

    def take(self) -> NDArray[np.float64]:
        """The level of each part in the next block, [parts]; -200 dB where it is silent."""
        if self._next == len(self._ahead):
            self._ahead = np.stack([self._fill(part) for part in range(len(self._scripts))], axis=1)
            self._next = 0
        levels: NDArray[np.float64] = self._ahead[self._next]
        self._next += 1
        return levels

    def _fill(self, part: int) -> NDArray[np.float64]:
        pieces = [self._left[part]]
        length = len(pieces[0])
        while length < _AHEAD_BLOCKS:
            pieces.append(next(self._scripts[part]))
            length += len(pieces[-1])
        whole = np.concatenate(pieces)
        self._left[part] = whole[_AHEAD_BLOCKS:]
        return whole[:_AHEAD_BLOCKS]


def _script(luck: np.random.Generator, talk: float) -> Iterator[NDArray[np.float64]]:
    """Pieces of a part's script for ever; ``talk`` is the share of scenes in which it speaks."""
    while True:
        blocks = int(luck.integers(*_SCENE_BLOCKS))
        if luck.uniform() >= talk:
            yield np.full(blocks, SILENT_DB)
            continue
        while blocks > 0:
            phrase = _phrase(luck)
            pause = np.full(int(luck.integers(*_PAUSE_BLOCKS)), SILENT_DB)
            yield phrase
            yield pause
            blocks -= len(phrase) + len(pause)


def _phrase(luck: np.random.Generator) -> NDArray[np.float64]:
    """Syllables with a dip between them."""
    blocks = int(luck.integers(*_PHRASE_BLOCKS))
    levels = _SPREAD_DB * luck.standard_normal(blocks)
    place = 0
    while place < blocks:
        place += int(luck.integers(*_SYLLABLE_BLOCKS))
        levels[place : place + 1] -= _DIP_DB
    return np.minimum(levels, _LOUDEST_DB)
