"""Subscriptions of one conversation don't touch each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import UnexpectedMessage
from fleet.protocol.messages import Readings
from fleet.protocol.received import Gap
from fleet.protocol.subscriptions import Subscriptions


def frame(number: int, sequence: int) -> Readings:
    return Readings(number, sequence, 1, [])


@given(steps=st.lists(st.tuples(st.integers(1, 3), st.integers(1, 4)), max_size=40))
def test_frames_of_each_are_counted_by_themselves(steps: list[tuple[int, int]]) -> None:
    subscriptions = Subscriptions()
    for number in (1, 2, 3):
        subscriptions.open(number, f"device-{number}", "live")
    last: dict[int, int] = {}
    for number, step in steps:
        sequence = last.get(number, 0) + step
        gap = subscriptions.count(frame(number, sequence), "live")
        whole = number not in last or step == 1
        assert gap == (None if whole else Gap(number, last[number] + 1, sequence))
        last[number] = sequence


def test_those_of_a_device_end_together() -> None:
    subscriptions = Subscriptions()
    for number, target in ((1, "shed-1"), (2, "shed-2"), (3, "shed-1")):
        subscriptions.open(number, target, "live")
    subscriptions.end_of("shed-1")
    assert [number in subscriptions for number in (1, 2, 3)] == [False, True, False]
    assert len(subscriptions) == 1
    with pytest.raises(UnexpectedMessage):
        subscriptions.count(frame(1, 1), "live")


def test_a_number_in_use_is_not_given_twice_and_may_be_given_again() -> None:
    subscriptions = Subscriptions()
    subscriptions.open(1, "shed-1", "live")
    with pytest.raises(UnexpectedMessage, match="subscription 1 twice"):
        subscriptions.open(1, "shed-1", "live")
    subscriptions.end(1)
    subscriptions.end(1)
    subscriptions.open(1, "shed-1", "live")
    subscriptions.clear()
    assert len(subscriptions) == 0
