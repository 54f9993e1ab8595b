"""Requests that come to one room: which do, and that they are packed by all rules."""

from __future__ import annotations

import pytest

from fleet.planning.coordination.one_room import packing_of
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
    found = search(request(HOUSE.replace("count = 14", "count = 17")), 1, lambda best: best.steps >= 400)
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
def test_what_comes_to_one_room_is_packed_and_keeps_all_rules(text: str) -> None:
    """Held by an enumeration of its own, with the carriers that stand and somebody else's."""
    asked = request(text)
    assert packing_of(asked) is not None
    found = search(asked, 1, lambda best: best.steps >= 12)
    placed = (*found.carriers, *found.spares)
    assert len({each.point for each in placed}) == len(placed) >= 10
    assert broken(asked, placed) == []


@pytest.mark.parametrize(
    "text",
    [
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
    assert packing_of(request(text)) is None


def test_somebody_else_counts_as_standing() -> None:
    room = packing_of(request(HOUSE + STRANGER))
    assert room is not None
    assert (room.fixed, room.asked) == ((400,), 15)
    assert [point for point in range(961) if not room.allowed >> point & 1] == list(range(361, 440))
