"""Third-order products of 32 to 1,000 carriers beside three ways of brute force. Prints a table, asserts no time."""

from __future__ import annotations

import ctypes
import os
import shutil
import subprocess
import time
from collections import Counter
from collections.abc import Callable
from itertools import combinations_with_replacement
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fleet.physics.intermodulation import THIRD, layout

POINTS = 8_961
"""470 to 694 MHz in steps of 25 kHz."""
SOURCE = Path(__file__).parent / "brute_products.c"
SIZES = (32, 100, 300, 1_000)
ROUNDS = 3
SLOW_S = 2.0
"""What takes longer than that is done once."""
ALL_PAIRS_UP_TO, PAIRS_SHARE = 300, 100
IN_FULL = bool(os.environ.get("REDPOLL_BENCH"))
Counts = NDArray[np.int64]
Way = Callable[[list[int]], Counts]


def ours(carriers: list[int]) -> Counts:
    total = np.zeros(3 * POINTS, dtype=np.int64)
    for family in THIRD:
        found = layout(np.array(carriers), family)
        total[found.first + POINTS : found.first + POINTS + len(found.counts)] += found.counts
    return total


def by_itertools(carriers: list[int]) -> Counts:
    pairs = combinations_with_replacement(carriers, 2)
    found = Counter(a + b - c for a, b in pairs for c in carriers if c not in {a, b})
    total = np.zeros(3 * POINTS, dtype=np.int64)
    total[np.array(list(found)) + POINTS] = list(found.values())
    return total


def a_share_by_itertools(carriers: list[int]) -> float:
    """What all pairs would take, from one pair in so many: whole, it would be minutes at 1,000 carriers."""
    pairs = list(combinations_with_replacement(carriers, 2))[::PAIRS_SHARE]
    begun_s = time.perf_counter()
    Counter(a + b - c for a, b in pairs for c in carriers if c not in {a, b})
    return PAIRS_SHARE * (time.perf_counter() - begun_s)


def by_broadcasting(carriers: list[int]) -> Counts:
    places, total = np.array(carriers), np.zeros(3 * POINTS, dtype=np.int64)
    for index, place in enumerate(places):
        falls = place + places[index:, None] - places[None, :]
        different = (places[None, :] != place) & (places[None, :] != places[index:, None])
        total += np.bincount(falls[different] + POINTS, minlength=3 * POINTS)
    return total


def compiled(folder: Path) -> Way | None:
    """Brute force in C where there is a compiler."""
    compiler = shutil.which("cc")
    if compiler is None:
        return None
    library = folder / "brute_products.so"
    subprocess.run([compiler, "-O3", "-march=native", "-shared", "-fPIC", "-o", library, SOURCE], check=True)
    count = ctypes.CDLL(str(library)).count_products

    def by_c(carriers: list[int]) -> Counts:
        total, places = np.zeros(3 * POINTS, dtype=np.int64), np.array(carriers, dtype=np.int32)
        count(ctypes.c_void_p(places.ctypes.data), len(places), ctypes.c_void_p(total.ctypes.data), POINTS)
        return total

    return by_c


def quickest(way: Way, carriers: list[int]) -> tuple[float, Counts]:
    times_s, found = [], np.zeros(0, dtype=np.int64)
    for _ in range(ROUNDS):
        begun_s = time.perf_counter()
        found = way(carriers)
        times_s.append(time.perf_counter() - begun_s)
        if times_s[-1] > SLOW_S:
            break
    return min(times_s), found


def test_every_way_counts_the_same(tmp_path: Path) -> None:
    """The small sizes always, all of them when benchmarks are run."""
    luck = np.random.default_rng(44)
    by_c = compiled(tmp_path)
    ways: dict[str, Way] = {"itertools": by_itertools, "numpy broadcasting": by_broadcasting}
    if by_c is not None:
        ways["compiled"] = by_c
    print("\ncarriers  ours ms" + "".join(f"  {name} ms (times ours)" for name in ways))
    for size in SIZES if IN_FULL else SIZES[:2]:
        carriers = np.sort(luck.choice(POINTS, size, replace=False)).tolist()
        own_s, own = quickest(ours, carriers)
        line = f"{size:>8}  {1e3 * own_s:7.2f}"
        for name, way in ways.items():
            if size > ALL_PAIRS_UP_TO and name == "itertools":
                about_s = a_share_by_itertools(carriers)
                line += f"  about {1e3 * about_s:.0f} ({about_s / own_s:.0f})"
                continue
            if size > 32 and name == "itertools" and not IN_FULL:
                line += f"  {name} left out"
                continue
            took_s, found = quickest(way, carriers)
            assert np.array_equal(own, found), f"{name} counts otherwise with {size} carriers"
            line += f"  {1e3 * took_s:.2f} ({took_s / own_s:.1f})"
        print(line)
