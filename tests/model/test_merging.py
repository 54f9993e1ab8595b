"""Merging keeps the truth: least of minima, most of maxima and flags, the latest of the rest. All numbers by hand."""

from __future__ import annotations

import numpy as np
import pytest

from fleet.model.merging import merge_frames, merge_rules

CELLS = (
    ("quay-1/carrier/1/branch/a", "rf_dbm"),
    ("quay-1/carrier/1/branch/a", "rf_min_dbm"),
    ("quay-1/carrier/1/branch/a", "rf_max_dbm"),
    ("quay-1/carrier/1", "foreign"),
    ("quay-1/channel/1", "audio_damage_fraction"),
    ("pack/k17", "asleep"),
    ("pack/k17", "their_own_reading"),
)
NAN = float("nan")


def test_frames_are_merged_by_the_catalogue() -> None:
    stack = np.array(
        [
            [-50.0, -55.0, -45.0, 0.0, 0.5, 1.0, 7.0],
            [-60.0, -90.0, -58.0, 1.0, 0.0, 0.0, 8.0],
            [-52.0, -54.0, -49.0, 0.0, 0.1, 0.0, 9.0],
        ]
    )
    merged = merge_frames(stack, merge_rules(CELLS))
    assert merged.tolist() == [-52.0, -90.0, -45.0, 1.0, 0.5, 0.0, 9.0]
    assert stack[2, 1] == -54.0, "the frames are left as they were"


@pytest.mark.filterwarnings("error")
def test_absent_takes_no_part_in_a_least_or_most_and_is_the_latest_all_the_same() -> None:
    stack = np.array([[-50.0, -55.0, NAN, NAN, NAN, 1.0, 7.0], [NAN, NAN, NAN, 1.0, 0.25, NAN, NAN]])
    merged = merge_frames(stack, merge_rules(CELLS))
    np.testing.assert_array_equal(merged, [NAN, -55.0, NAN, 1.0, 0.25, NAN, NAN])
