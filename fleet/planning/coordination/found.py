"""What a search has found so far."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fleet.planning.coordination.plan import Carrier


@dataclass(frozen=True, slots=True)
class Found:
    """The best plan so far, after so many steps: carriers as asked, and spares beside them, best first.

    ``at_most`` is a number of carriers, spares among them, that no plan exceeds, as far as one is known.
    """

    carriers: tuple[Carrier, ...]
    asked: int
    worst_margin_hz: int | None
    steps: int
    spares: tuple[Carrier, ...] = ()
    spares_asked: int = 0
    at_most: int | None = None

    @property
    def complete(self) -> bool:
        """Whether there is a place for everybody; spares are left out of it."""
        return len(self.carriers) == self.asked

    @property
    def all_placed(self) -> bool:
        """Whether the spares have theirs as well."""
        return self.complete and len(self.spares) == self.spares_asked

    @property
    def score(self) -> tuple[int, int, int]:
        """What never falls: how many stand, then how many spares, then the margin."""
        margin_hz = -(1 << 62) if self.worst_margin_hz is None else self.worst_margin_hz
        return len(self.carriers), len(self.spares), margin_hz


Told = Callable[[Found], None]
Asked = Callable[[Found], bool]


def never(found: Found) -> None:
    """Tell nobody."""
    del found
