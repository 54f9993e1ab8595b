"""Speech-like levels: scenes in which a part speaks, phrases, syllables and pauses, each part with its own pattern.

The shape is an assumption: no recording stands behind it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from simulator.luck import Luck
from simulator.scenario import Channel

SILENT_DB = -200.0
CREST_DB = 12.0
_AHEAD_BLOCKS = 256
_BLOCKS_PER_S = 10
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

    def __init__(self, parts: Sequence[Channel], luck: Luck) -> None:
        self._scripts = [_script_of(part, luck.generator(f"speech of {part.pack}")) for part in parts]
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
            pieces.append(self._scripts[part].take())
            length += len(pieces[-1])
        whole = np.concatenate(pieces)
        self._left[part] = whole[_AHEAD_BLOCKS:]
        return whole[:_AHEAD_BLOCKS]


def _script_of(part: Channel, luck: np.random.Generator) -> _Scenes | _Lines:
    return _Lines(luck, part) if part.speaks else _Scenes(luck, part.talk)


class _Scenes:
    """A part that is in a scene or not, as luck will have it; ``talk`` is the share of scenes in which it speaks."""

    def __init__(self, luck: np.random.Generator, talk: float) -> None:
        self._luck = luck
        self._talk = talk

    def take(self) -> NDArray[np.float64]:
        """The next scene."""
        blocks = int(self._luck.integers(*_SCENE_BLOCKS))
        if self._luck.uniform() >= self._talk:
            return np.full(blocks, SILENT_DB)
        pieces = []
        while blocks > 0:
            phrase = _phrase(self._luck)
            pause = np.full(int(self._luck.integers(*_PAUSE_BLOCKS)), SILENT_DB)
            pieces += [phrase, pause]
            blocks -= len(phrase) + len(pause)
        return np.concatenate(pieces)


class _Lines:
    """A part that speaks in its lines and is silent in between."""

    def __init__(self, luck: np.random.Generator, part: Channel) -> None:
        self._luck = luck
        self._lines = [[round(moment_s * _BLOCKS_PER_S) for moment_s in line] for line in part.speaks]
        self._every = round(part.speaks_every_s * _BLOCKS_PER_S)
        self._done = False

    def take(self) -> NDArray[np.float64]:
        """The next round of lines, or silence after the only one."""
        if self._done:
            return np.full(_AHEAD_BLOCKS, SILENT_DB)
        self._done = not self._every
        pieces, at = [], 0
        for start, end in self._lines:
            pieces += [np.full(start - at, SILENT_DB), _line(self._luck, end - start)]
            at = end
        return np.concatenate([*pieces, np.full(max(0, self._every - at), SILENT_DB)])


def _line(luck: np.random.Generator, blocks: int) -> NDArray[np.float64]:
    """Phrases and pauses that fill a line; it ends where it has to."""
    pieces, length = [], 0
    while length < blocks:
        pieces += [_phrase(luck), np.full(int(luck.integers(*_PAUSE_BLOCKS)), SILENT_DB)]
        length += len(pieces[-2]) + len(pieces[-1])
    return np.concatenate(pieces)[:blocks]


def _phrase(luck: np.random.Generator) -> NDArray[np.float64]:
    """Syllables with a dip between them."""
    blocks = int(luck.integers(*_PHRASE_BLOCKS))
    levels = _SPREAD_DB * luck.standard_normal(blocks)
    place = 0
    while place < blocks:
        place += int(luck.integers(*_SYLLABLE_BLOCKS))
        levels[place : place + 1] -= _DIP_DB
    return np.minimum(levels, _LOUDEST_DB)
