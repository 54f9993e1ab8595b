"""Requests that come to one room: which do, and that their starts keep all rules."""

from __future__ import annotations

from itertools import islice

import pytest

from fleet.planning.coordination.constructions import one_room, ruler_starts
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.search import search
from tests.planning.coordination.brute import broken
from tests.planning.coordination.test_search import HOUSE

SECOND = '\n[[group]]\nname = "Quay"\nzone = "Quay"\nprofile = "analog"\ncount = 4\n'
STRANGER = "\n[[protected]]\nfrequency_hz = 480_000_000\nspacing_hz = 1_000_000\n"


def request(text: str) -> Request:
    return read_request(text, "house.toml")


def test_a_window_of_24_megahertz_holds_seventeen() -> None:
    found = search(request(HOUSE.replace("count = 14", "count = 17")), 1, lambda best: best.steps >= 20)
    assert found.complete
    assert broken(request(HOUSE.replace("count = 14", "count = 17")), found.carriers) == []


@pytest.mark.parametrize(
    "text",
    [
        HOUSE,
        HOUSE + SECOND,
        HOUSE + STRANGER,
        HOUSE.replace("count = 14", "count = 14\nspares = 2\nlocked_hz = [470_500_000]\nfixed_hz = [469_000_000]"),
        HOUSE.replace("[[profile]]", "[[exclusion]]\nstart_hz = 478_000_000\nstop_hz = 486_000_000\n[[profile]]"),
        HOUSE + '\n[[tuning]]\nname = "low"\nstep_hz = 75_000\nranges = [[471_000_000, 490_000_000]]\n',
    ],
)
def test_starts_keep_all_rules_and_get_no_smaller(text: str) -> None:
    """Held by an enumeration of its own, with the carriers that stand."""
    asked = request(text)
    standing = search(asked, 1, lambda _: True).carriers
    made = list(islice(ruler_starts(asked), 3))
    assert made
    for start in made:
        assert len({each.point for each in start}) == len(start)
        assert broken(asked, (*standing, *start)) == []
    assert [len(each) for each in made] == sorted(len(each) for each in made)


@pytest.mark.parametrize(
    "text",
    [
        HOUSE.replace("100_000\n", "0\n"),
        HOUSE + SECOND + '\n[[isolation]]\nzones = ["House", "Quay"]\n',
        HOUSE + SECOND + 'kind = "in_ear"\n',
        HOUSE + SECOND.replace('"analog"', '"wide"') + '\n[[profile]]\nname = "wide"\nspacing_hz = 600_000\n',
        HOUSE + SECOND + '\n[[scene]]\nname = "One"\ngroups = ["House"]\n[[scene]]\nname = "Two"\ngroups = ["Quay"]\n',
        HOUSE
        + SECOND
        + 'tuning = "low"\n[[tuning]]\nname = "low"\nstep_hz = 25_000\nranges = [[471_000_000, 472_000_000]]\n',
    ],
)
def test_other_requests_are_no_single_room(text: str) -> None:
    assert one_room(request(text)) is None
    assert list(ruler_starts(request(text))) == []


def test_somebody_else_counts_as_standing() -> None:
    room = one_room(request(HOUSE + STRANGER))
    assert room is not None
    assert (room.fixed, room.asked) == ((400,), 15)
    assert [point for point in range(961) if not room.allowed >> point & 1] == list(range(361, 440))
