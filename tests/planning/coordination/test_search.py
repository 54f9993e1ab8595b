"""Plans that the search finds, held by enumeration: never worse, the same again, stopped with the best."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.planning.coordination.constructions import PRIMES, ruzsa
from fleet.planning.coordination.plan import Carrier, check
from fleet.planning.coordination.request import Request, read_request
from fleet.planning.coordination.search import Found, search
from tests.planning.coordination.brute import broken
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


def _random_request(luck: np.random.Generator) -> Request:
    """Zones, profiles, exclusions, fixed carriers and isolation, as luck will have it."""
    start_hz = 470_000_000 + 100_000 * int(luck.integers(0, 50))
    width_hz = int(luck.choice([6, 8, 12])) * 1_000_000
    text = f"raster_hz = {int(luck.choice([25_000, 50_000, 100_000]))}\n"
    text += f"[[window]]\nstart_hz = {start_hz}\nstop_hz = {start_hz + width_hz}\n"
    if luck.random() < 0.5:
        text += f"[[exclusion]]\nstart_hz = {start_hz + 2_000_000}\nstop_hz = {start_hz + 2_700_000}\n"
    text += '[[profile]]\nname = "analog"\nspacing_hz = 400_000\nthird_two_signal_hz = 200_000\n'
    text += f"third_three_signal_hz = 150_000\nfifth_two_signal_hz = {int(luck.choice([0, 100_000]))}\n"
    text += f'[[profile]]\nname = "digital"\nspacing_hz = {int(luck.choice([400_000, 600_000]))}\n'
    for number, zone in enumerate(("House", "Quay", "Camera")):
        profile = "analog" if luck.random() < 0.5 else "digital"
        text += f'[[group]]\nname = "G{number}"\nzone = "{zone}"\nprofile = "{profile}"\n'
        text += f"count = {int(luck.integers(1, 5))}\n"
        if number == 0 and luck.random() < 0.5:
            text += f"fixed_hz = [{start_hz + 1_000_000}]\n"
    if luck.random() < 0.5:
        text += '[[isolation]]\nzones = ["House", "Quay"]\n'
    return read_request(text, "random.toml")


@pytest.mark.parametrize("seed", range(1, REQUESTS + 1))
def test_every_plan_keeps_all_rules(seed: int) -> None:
    """By an enumeration of its own; and the check agrees with that, also of a plan with one carrier moved."""
    print(f"seed {seed}")
    luck = np.random.default_rng(seed)
    request = _random_request(luck)
    found = search(request, seed, lambda best: _after(3, best))
    assert broken(request, found.carriers) == []
    assert check(request, found.carriers).faults == ()
    if found.carriers:
        moved = (Carrier(found.carriers[0].group, found.carriers[0].point + 1), *found.carriers[1:])
        assert bool(check(request, moved).faults) == bool(broken(request, moved))


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


@pytest.mark.parametrize("prime", PRIMES)
def test_constructed_sets_have_distinct_differences(prime: int) -> None:
    """Ruzsa 1993: p - 1 marks, all differences distinct modulo p (p - 1)."""
    marks, modulus = ruzsa(prime), prime * (prime - 1)
    differences = [(a - b) % modulus for a in marks for b in marks if a != b]
    assert len(marks) == prime - 1
    assert len(set(differences)) == len(differences)
