"""Several frames of readings as one, so that the truth is kept (contract: merging keeps the truth)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import parse_address
from fleet.model.fields import Field, Merge, reading

_LARGEST = (Merge.MOST, Merge.ANY)


@dataclass(frozen=True, slots=True, eq=False)
class MergeRules:
    """Which values of a frame keep their least, and which their most; the rest keep the latest. Indices, intp."""

    least: NDArray[np.intp]
    most: NDArray[np.intp]


def merge_rules(cells: Sequence[tuple[str, str]]) -> MergeRules:
    """The rules of the catalogue for pairs of address and reading; a reading that nobody knows keeps the latest.

    Raises ValueError when an address is none.
    """
    return merge_rules_of([reading(parse_address(address).place, name) for address, name in cells])


def merge_rules_of(fields: Sequence[Field | None]) -> MergeRules:
    """The rules of the catalogue for those fields; None stands for one that nobody knows."""
    rules = [Merge.LATEST if field is None else field.merge for field in fields]
    least = [index for index, rule in enumerate(rules) if rule is Merge.LEAST]
    most = [index for index, rule in enumerate(rules) if rule in _LARGEST]
    return MergeRules(np.array(least, dtype=np.intp), np.array(most, dtype=np.intp))


def merge_frames(stack: NDArray[np.float64], rules: MergeRules) -> NDArray[np.float64]:
    """Frames in order, shaped ``(frames, cells)``, as one; NaN is absent and takes no part in a least or a most."""
    merged: NDArray[np.float64] = stack[-1].copy()
    merged[rules.least] = np.fmin.reduce(stack[:, rules.least])
    merged[rules.most] = np.fmax.reduce(stack[:, rules.most])
    return merged
