"""The shortest sets without products on a mark, proved by trying all, against published lengths."""

from __future__ import annotations

from itertools import combinations_with_replacement

import pytest

from fleet.planning.coordination.exact import MARKS_MAXIMUM, Free, shortest

# OEIS A003022: lengths of optimal Golomb rulers of 2, 3, 4 … marks.
RULER_LENGTHS = (1, 3, 6, 11, 17, 25, 34, 44, 55)
# OEIS A065825: channels 1 to k of which 1, 2, 3 … can be taken without three in equal steps.
CHANNELS_WITHOUT_THREE_IN_STEP = (1, 2, 4, 5, 9, 11, 13, 14, 20, 24, 26, 30)
# By exhaustive search: lengths of sets of 2, 3, 4 … all of whose sums of three differ.
TRIPLE_SUM_LENGTHS = (1, 4, 11, 23, 45)


@pytest.mark.parametrize(("marks", "length"), list(enumerate(RULER_LENGTHS, start=2)))
def test_optimal_rulers(marks: int, length: int) -> None:
    """Ten marks are proved from the ground up, all shorter rulers with them."""
    found = shortest(Free.OF_THIRD, marks)
    assert found[-1] == length
    differences = [upper - lower for lower in found for upper in found if upper > lower]
    assert len(set(differences)) == len(differences) == marks * (marks - 1) // 2


@pytest.mark.parametrize(("marks", "channels"), list(enumerate(CHANNELS_WITHOUT_THREE_IN_STEP, start=1)))
def test_sets_without_three_in_step(marks: int, channels: int) -> None:
    found = shortest(Free.OF_TWO_SIGNAL_THIRD, marks)
    assert found[-1] + 1 == channels
    assert len(found) == marks
    assert not [(a, b) for a in found for b in found if a != b and 2 * a - b in found]


@pytest.mark.parametrize(("marks", "length"), list(enumerate(TRIPLE_SUM_LENGTHS, start=2)))
def test_sets_whose_sums_of_three_differ(marks: int, length: int) -> None:
    found = shortest(Free.OF_THIRD_AND_FIFTH, marks)
    assert found[-1] == length
    sums = [sum(three) for three in combinations_with_replacement(found, 3)]
    assert len(set(sums)) == len(sums)


@pytest.mark.parametrize("marks", [0, MARKS_MAXIMUM + 1])
def test_numbers_that_nobody_would_wait_for(marks: int) -> None:
    with pytest.raises(ValueError, match="1 to 16"):
        shortest(Free.OF_THIRD, marks)
