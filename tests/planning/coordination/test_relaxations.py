"""What a request might give up: each alone, each really freer, and the gain counted from the best there was."""

from __future__ import annotations

import pytest

from fleet.planning.coordination.found import Found
from fleet.planning.coordination.plan import check
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.relaxations import gains, relaxations
from fleet.planning.coordination.search import search
from tests.planning.coordination.test_search import HOUSE

CROWDED = HOUSE.replace("count = 14", "count = 12\nlocked_hz = [470_000_000]").replace("494_000", "478_000")
MORE = """
[[exclusion]]
start_hz = 472_000_000
stop_hz = 475_000_000
[[profile]]
name = "digital"
spacing_hz = 400_000
[[group]]
name = "Quay"
zone = "Quay"
profile = "digital"
count = 3
"""


def _after(steps: int, found: Found) -> bool:
    return found.steps >= steps


def test_a_plan_keeps_the_rules_of_every_relaxed_request() -> None:
    """Each asks for less: whatever kept all rules before keeps them still."""
    request = read_request(CROWDED + MORE, "crowded.toml")
    best = search(request, 1, lambda found: _after(3, found))
    words = [relaxed.words for relaxed in relaxations(request)]
    assert len(set(words)) == len(words) > 8
    for relaxed in relaxations(request):
        assert check(relaxed.request, best.carriers).faults == (), relaxed.words


@pytest.mark.parametrize(
    "words",
    [
        "472 to 475 MHz not excluded",
        "analog: no guard against three-signal products",
        "House as digital",
        "House: locked carriers free to move",
        "House and Quay isolated from one another",
        "478 to 486 MHz as well",
    ],
)
def test_each_thing_that_can_be_given_up_is_named(words: str) -> None:
    assert words in [relaxed.words for relaxed in relaxations(read_request(CROWDED + MORE, "crowded.toml"))]


def test_gains_are_counted_from_the_best_and_come_largest_first() -> None:
    request = read_request(CROWDED + MORE, "crowded.toml")
    best = search(request, 1, lambda found: _after(6, found))
    assert not best.complete
    found = gains(request, best, 1, lambda: False, steps=4)
    assert [gain.gain for gain in found] == sorted((gain.gain for gain in found), reverse=True)
    assert all(gain.carriers == len(best.carriers) + gain.gain for gain in found)
    by_words = {gain.words: gain.gain for gain in found}
    assert by_words["analog: no guard against three-signal products"] > 0
    assert gains(request, best, 1, lambda: True) == ()


def test_a_complete_plan_has_nothing_to_gain() -> None:
    request = read_request(HOUSE.replace("count = 14", "count = 2"), "house.toml")
    assert gains(request, search(request, 1, lambda found: found.complete), 1, lambda: False) == ()
