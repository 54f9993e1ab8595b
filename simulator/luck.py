"""Chance, split by name: another performer on stage doesn't change the luck of those already there."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

_NAME_BYTES = 16
_DRAW_AHEAD_BLOCKS = 64
_WANDER_LENGTH = 4_096
_WANDER_STRIDE = 509


class Luck:
    """The luck of one world. The same seed and name give the same draws in any process."""

    def __init__(self, seed: int) -> None:
        if seed < 0:
            raise ValueError("a seed is a whole number from 0 up")
        self._seed = seed

    def generator(self, name: str) -> np.random.Generator:
        """A generator of its own for everything that bears this name."""
        digest = hashlib.sha256(name.encode()).digest()[:_NAME_BYTES]
        words = np.frombuffer(digest, dtype="<u4").tolist()
        return np.random.Generator(np.random.PCG64(np.random.SeedSequence([self._seed, *words])))

    def word(self, name: str) -> str:
        """Eight hexadecimal digits for that name."""
        return f"{int(self.generator(name).integers(2**32)):08x}"


class NormalDraws:
    """Standard normal draws for every row, each from the row's own generator, drawn some blocks ahead."""

    def __init__(self, generators: Sequence[np.random.Generator], shape: tuple[int, ...]) -> None:
        self._generators = tuple(generators)
        self._shape = shape
        self._ahead: NDArray[np.float64] = np.empty((0, len(generators), *shape))
        self._next = 0

    def take(self) -> NDArray[np.float64]:
        """The draws of one block, shape [rows, *shape]."""
        if self._next == len(self._ahead):
            rows = [generator.standard_normal((_DRAW_AHEAD_BLOCKS, *self._shape)) for generator in self._generators]
            self._ahead = np.stack(rows, axis=1)
            self._next = 0
        drawn: NDArray[np.float64] = self._ahead[self._next]
        self._next += 1
        return drawn


class Wander:
    """A number that wanders about zero, standard normal: the same at the same block, however often it is looked at."""

    def __init__(self, generator: np.random.Generator) -> None:
        self._drawn: list[float] = generator.standard_normal(_WANDER_LENGTH).tolist()

    def at(self, block: int, which: int) -> float:
        """The one of that number in that block; it comes again after a while."""
        return self._drawn[(block + which * _WANDER_STRIDE) % _WANDER_LENGTH]
