"""How far a value may be trusted."""

from __future__ import annotations

from enum import IntEnum


class Quality(IntEnum):
    """The quality of a value; the number is what travels in a quality plane.

    Absent is not zero and not false; uncertain is the last known value, too old to act on.
    """

    ABSENT = 0
    GOOD = 1
    UNCERTAIN = 2
    BAD = 3
