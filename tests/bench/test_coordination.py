"""How many carriers one room holds, and how soon that is found, beside greedy ways and a general solver.

Carriers 400 kHz apart on a raster of 25 kHz, all third-order products 100 kHz clear: in 24 MHz, and in 470 to 694 MHz.
What each way gives is held by writing out every product. Prints a table, asserts no time. The solver is compared with
only where benchmarks are run in full; what it is asked stands in constraint_models.py.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
import pytest

from fleet.planning.coordination.difference_sets import bose, singer
from fleet.planning.coordination.finite_field import field_of
from fleet.planning.coordination.packing import Best, Packing, at_most, pack
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.search import search
from tests.bench import constraint_models
from tests.planning.coordination.test_search import HOUSE

IN_FULL = bool(os.environ.get("REDPOLL_BENCH"))
SPACING, GUARD = 16, 4
RASTER_HZ, FIRST_HZ = 25_000, 470_000_000
LIMIT_S = 10.0 if IN_FULL else 0.2
SOLVER_LIMIT_S = 30.0
SEEDS = range(1, 21 if IN_FULL else 2)
ORDERS = 100 if IN_FULL else 2
Carriers = tuple[int, ...]
Model = Callable[[int, int, int, int, float], Carriers]


@dataclass(frozen=True, slots=True)
class Room:
    """A room by its name: raster points, how many are asked for in turn, and how many the solver is asked for."""

    words: str
    size: int
    asked: tuple[int, ...]
    of_solver_on_raster: tuple[int, ...]
    of_solver_on_grid: tuple[int, ...]


ROOMS = (
    Room("24 MHz", 961, (15, 16, 17, 18), (13, 14), (15, 16)),
    Room("470 to 694 MHz", 8_961, (46, 48, 49, 50), (15,), (36, 46)),
)


def is_clear(carriers: Carriers) -> bool:
    """Every product written out: A + B - C with A, B and C different, or A = B; against every carrier."""
    places, many = np.array(carriers), len(carriers)
    a, b, c = np.unravel_index(np.arange(many**3), (many, many, many))
    makers = (a <= b) & (c != a) & (c != b)
    products = np.unique((places[a] + places[b] - places[c])[makers])
    nearest = min((int(np.abs(products - each).min()) for each in places if len(products)), default=GUARD)
    return nearest >= GUARD and bool(np.all(np.diff(np.sort(places)) >= SPACING))


def one_by_one(points: list[int]) -> Carriers:
    """Plain greedy: each point in its turn, where its differences to all before keep off all differences."""
    placed: list[int] = []
    taken: set[int] = set()
    for point in points:
        fresh = sorted(abs(point - each) for each in placed)
        spaced = not fresh or fresh[0] >= SPACING
        apart = all(upper - lower >= GUARD for lower, upper in pairwise(fresh))
        if spaced and apart and not taken.intersection(fresh):
            placed.append(point)
            taken.update(each + off for each in fresh for off in range(1 - GUARD, GUARD))
    return tuple(sorted(placed))


def in_random_orders(size: int) -> Carriers:
    luck = np.random.default_rng(1)
    return max((one_by_one(luck.permutation(size).tolist()) for _ in range(ORDERS)), key=len)


def timed(way: Callable[[], Carriers]) -> tuple[Carriers, float]:
    begun_s = time.perf_counter()
    carriers = way()
    return carriers, time.perf_counter() - begun_s


def packed(size: int, asked: int, seed: int) -> tuple[Carriers, float]:
    """The packing and when it was found; the algebra begins with nothing at hand, as in a fresh process."""
    for kept in (singer, bose, field_of):
        kept.cache_clear()
    begun_s = time.perf_counter()
    found: list[tuple[Carriers, float]] = [((), 0.0)]

    def note(best: Best) -> None:
        found.append((best.carriers, time.perf_counter() - begun_s))

    problem = Packing((1 << size) - 1, SPACING, GUARD, GUARD, asked)
    pack(problem, seed, lambda _: time.perf_counter() - begun_s > LIMIT_S, note)
    return found[-1]


def searched(size: int, asked: int, seed: int) -> tuple[Carriers, float]:
    """The whole search, as `redpoll chart find` has it, from the request on."""
    stop_hz = FIRST_HZ + (size - 1) * RASTER_HZ
    text = HOUSE.replace("494_000_000", str(stop_hz)).replace("count = 14", f"count = {asked}")
    request, begun_s = read_request(text, "house.toml"), time.perf_counter()
    best = search(request, seed, lambda each: each.complete or time.perf_counter() - begun_s > LIMIT_S)
    return tuple(each.point for each in best.carriers), time.perf_counter() - begun_s


def show(words: str, runs: list[tuple[Carriers, float]]) -> None:
    """One line, every run of it held by enumeration."""
    assert all(is_clear(carriers) for carriers, _ in runs if carriers)
    numbers = sorted(len(carriers) for carriers, _ in runs)
    times_ms = sorted(1e3 * took_s for _, took_s in runs)
    middle, last = statistics.median(times_ms), times_ms[-1]
    placed = str(numbers[0]) if numbers[0] == numbers[-1] else f"{numbers[0]}-{numbers[-1]}"
    print(f"{words:<52}{placed:>7}{middle:12.1f}{last:12.1f}{len(runs):6}")


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.words)
def test_carriers_of_one_room(room: Room) -> None:
    bound = at_most(Packing((1 << room.size) - 1, SPACING, GUARD, GUARD, 1_000))
    print(f"\n{room.words}: by counting differences at most {bound}\n{'':<52} placed   median ms     last ms  runs")
    show("plain greedy from below", [timed(lambda: one_by_one(list(range(room.size))))])
    show(f"plain greedy, the best of {ORDERS} random orders", [timed(lambda: in_random_orders(room.size))])
    for asked in room.asked if IN_FULL else room.asked[:1]:
        show(f"packing, {asked} asked", [packed(room.size, asked, seed) for seed in seeds(room, asked)])
    for asked in room.asked if IN_FULL else ():
        show(f"the whole search, {asked} asked", [searched(room.size, asked, seed) for seed in seeds(room, asked)])
    if not IN_FULL:
        return
    if not constraint_models.is_installed():
        print("CP-SAT is not installed here; `./dev bench` installs it")
        return
    with_solver("any raster point", constraint_models.on_raster, room, room.of_solver_on_raster)
    with_solver("the guard's grid", constraint_models.on_grid, room, room.of_solver_on_grid)


def with_solver(words: str, model: Model, room: Room, numbers: tuple[int, ...]) -> None:
    for asked in numbers:
        run = timed(partial(model, room.size, SPACING, GUARD, asked, SOLVER_LIMIT_S))
        show(f"CP-SAT on {words}, {asked} asked, {SOLVER_LIMIT_S:.0f} s at most", [run])


def seeds(room: Room, asked: int) -> range:
    """All seeds; few for what takes all the time there is."""
    return SEEDS if asked < room.asked[-1] else SEEDS[:2]


def test_what_counts_as_clear() -> None:
    """By hand: 0, 16 and 32 are equally spaced; 16 + 40 - 0 = 56; 0, 16 and 36 keep 4 off."""
    assert is_clear((0, 16, 36))
    assert not is_clear((0, 16, 32))
    assert not is_clear((0, 16, 35))
    assert not is_clear((0, 15, 50))
    assert not is_clear((0, 16, 40, 56))
    assert is_clear((7,))
