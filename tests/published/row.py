"""One line of the list of published values: what is known, how well, from where, and which test holds us to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# Verified by calculation; read in a document; from memory; a shape without figures.
Mark = Literal["C", "C, attribution from memory", "S", "S, second-hand", "M", "shape"]


@dataclass(frozen=True, slots=True)
class Row:
    """One published value or table.

    ``tests`` are files and functions, ``reason`` stands where there are none. Each figure of ``value`` and
    ``tolerance`` stands in the code of these files, but for powers of a thousand; the house tests look.
    """

    what: str
    value: str
    tolerance: str
    mark: Mark
    source: str
    tests: tuple[str, ...] = ()
    reason: str = ""
