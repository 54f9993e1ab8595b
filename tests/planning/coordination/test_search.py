"""Plans that the search finds, held by enumeration: never worse, the same again, stopped with the best."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from fleet.planning.coordination.found import Found
from fleet.planning.coordination.ground import Ground
from fleet.planning.coordination.plan import Carrier, check, missing, standing
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.search import search
from tests.planning.coordination.brute import broken, lost, worst_margin_hz
from tests.planning.coordination.random_requests import random_request
from tests.promises.promise import TIER, Tier

REQUESTS = {Tier.TEST: 30, Tier.SOAK: 300, Tier.LONG: 3_000}[TIER]
HOUSE = """
raster_hz = 25_000
[[window]]
start_hz = 470_000_000
stop_hz = 494_000_000
[[profile]]
name = "analog"
spacing_hz = 400_000
third_two_signal_hz = 100_000
third_three_signal_hz = 100_000
fifth_two_signal_hz = 0
[[group]]
name = "House"
zone = "House"
profile = "analog"
count = 14
"""


def _after(steps: int, found: Found) -> bool:
    return found.complete or found.steps >= steps


@pytest.mark.parametrize("seed", range(1, REQUESTS + 1))
def test_every_plan_keeps_all_rules(seed: int) -> None:
    """By an enumeration of its own; and the check agrees with that, also of a plan with one carrier moved."""
    print(f"seed {seed}")
    luck = np.random.default_rng(seed)
    request = random_request(luck)
    found = search(request, seed, lambda best: _after(3, best))
    placed = (*found.carriers, *found.spares)
    assert broken(request, placed) == []
    verdict = check(request, placed)
    assert (verdict.faults, verdict.worst_margin_hz) == ((), worst_margin_hz(request, placed))
    assert found.worst_margin_hz == verdict.worst_margin_hz
    assert lost(request, found.carriers) == []
    assert (missing(request, found.carriers) == ()) == found.complete
    for moved in _moved(placed, luck):
        assert bool(check(request, moved).faults) == bool(broken(request, moved)), moved


def _moved(placed: tuple[Carrier, ...], luck: np.random.Generator) -> Iterator[tuple[Carrier, ...]]:
    """The plan with one carrier elsewhere: most of these break a rule, some do not."""
    for _ in range(10 if placed else 0):
        index, by = int(luck.integers(len(placed))), int(luck.integers(-40, 41))
        yield (*placed[:index], Carrier(placed[index].group, placed[index].point + by), *placed[index + 1 :])


@pytest.mark.parametrize("seed", range(1, REQUESTS + 1))
def test_free_is_where_one_more_breaks_no_rule(seed: int) -> None:
    """In both directions: every free point passes the enumeration, every other one fails it."""
    luck = np.random.default_rng(seed)
    request = random_request(luck)
    ground = Ground(request)
    for carrier in standing(request):
        ground.add(carrier)
    for _ in range(5):
        group = int(luck.integers(len(request.group)))
        free = ground.free(group)
        tried = luck.integers(free.min() - 3, free.max() + 4, 12).tolist() if len(free) else list[int]()
        for point in tried:
            with_one = (*ground.carriers, Carrier(group, point))
            assert (point in free) == (broken(request, with_one) == []), (group, point)
        if len(free):
            ground.add(Carrier(group, int(luck.choice(free))))


def test_a_window_of_24_megahertz_holds_fourteen_at_once() -> None:
    request = read_request(HOUSE, "house.toml")
    found = search(request, 1, lambda best: _after(2, best))
    assert found.complete
    assert broken(request, found.carriers) == []


def test_the_same_seed_and_steps_make_the_same_plan_and_the_score_never_falls() -> None:
    request = read_request(HOUSE.replace("count = 14", "count = 40"), "house.toml")
    told: list[Found] = []
    found = search(request, 7, lambda best: _after(6, best), told.append)
    assert search(request, 7, lambda best: _after(6, best)).carriers == found.carriers
    assert [each.score for each in told] == sorted(each.score for each in told)
    assert found.steps == 6
    assert not found.complete
    assert broken(request, found.carriers) == []


def test_stopped_at_once_it_gives_what_stands() -> None:
    request = read_request(HOUSE.replace("count = 14", "count = 2\nfixed_hz = [480_000_000]"), "house.toml")
    found = search(request, 1, lambda _: True)
    assert [each.point * 25_000 for each in found.carriers] == [480_000_000]
    assert (found.steps, found.asked) == (0, 2)


def test_a_search_for_margins_betters_them_and_ends_where_nothing_is_near_anything() -> None:
    text = HOUSE.replace("count = 14", "count = 8").replace("raster_hz", 'aim = "margin"\nraster_hz', 1)
    request = read_request(text, "house.toml")
    told: list[Found] = []
    found = search(request, 1, lambda best: best.steps >= 60, told.append)
    assert found.worst_margin_hz is not None
    assert told[0].worst_margin_hz is not None
    assert found.worst_margin_hz > told[0].worst_margin_hz
    assert found.worst_margin_hz == worst_margin_hz(request, found.carriers)
    assert broken(request, found.carriers) == []
    alone = search(read_request(text.replace("count = 8", "count = 1"), "house.toml"), 1, lambda _: False)
    assert (alone.complete, alone.worst_margin_hz) == (True, None)
