"""Speech-like levels: scenes in which a part speaks, phrases, syllables and pauses, each part with its own pattern.

The shape is an assumption: no recording stands behind it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import count

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
            pieces.append(next(self._scripts[part]))
            length += len(pieces[-1])
        whole = np.concatenate(pieces)
        self._left[part] = whole[_AHEAD_BLOCKS:]
        return whole[:_AHEAD_BLOCKS]


def _script_of(part: Channel, luck: np.random.Generator) -> Iterator[NDArray[np.float64]]:
    return _lines(luck, part) if part.speaks else _script(luck, part.talk)


def _lines(luck: np.random.Generator, part: Channel) -> Iterator[NDArray[np.float64]]:
    """Pieces of a part that speaks in its lines and is silent in between, for ever."""
    every = round(part.speaks_every_s * _BLOCKS_PER_S)
    done = 0
    for loop in count() if every else (0,):
        for from_s, to_s in part.speaks:
            start, end = (loop * every + round(moment_s * _BLOCKS_PER_S) for moment_s in (from_s, to_s))
            yield np.full(start - done, SILENT_DB)
            yield _line(luck, end - start)
            done = end
    while True:
        yield np.full(_AHEAD_BLOCKS, SILENT_DB)


def _line(luck: np.random.Generator, blocks: int) -> NDArray[np.float64]:
    """Phrases and pauses that fill a line; it ends where it has to."""
    pieces, length = [], 0
    while length < blocks:
        pieces += [_phrase(luck), np.full(int(luck.integers(*_PAUSE_BLOCKS)), SILENT_DB)]
        length += len(pieces[-2]) + len(pieces[-1])
    return np.concatenate(pieces)[:blocks]


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
