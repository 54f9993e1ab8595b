"""What a retune moves: links of packs and receivers, where they stand, where they are wanted, and the steps between."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fleet.model.retune import StepKind


@dataclass(frozen=True, slots=True)
class End:
    """One end of a link that has a frequency of its own: a pack or a carrier, by address."""

    address: str
    frequency_hz: int


@dataclass(frozen=True, slots=True)
class Link:
    """Packs and the carriers that hear them, which belong on one frequency and are moved as one.

    ``ends`` are in the order in which they move: the packs first, so that a receiver never leaves a pack behind that
    may not follow. ``target_hz`` is where all of them are wanted; that is where they stand for a link that stays.
    ``place`` tells who hears whom (see ``Room``). ``stays`` says in words why it can't be moved, empty where it can;
    ``by_hand`` that somebody must do something at a pack; ``sleeps`` that its packs can be taken off the air, and come
    back on another frequency.
    """

    link_id: str
    ends: tuple[End, ...]
    target_hz: int
    spacing_hz: int = 0
    place: str = ""
    stays: str = ""
    by_hand: bool = False
    sleeps: bool = False

    @property
    def stands_hz(self) -> frozenset[int]:
        """Every frequency at which one of its ends stands; more than one after a retune that was left half done."""
        return frozenset(end.frequency_hz for end in self.ends)

    @property
    def is_home(self) -> bool:
        """Whether all of it stands where it is wanted."""
        return self.stands_hz <= {self.target_hz}


@dataclass(frozen=True, slots=True)
class Held:
    """A frequency that somebody is on who won't move, and how far to keep off it; ``words`` say who."""

    frequency_hz: int
    spacing_hz: int = 0
    place: str = ""
    words: str = "somebody outside the fleet"


def _tunes_everywhere(_link_id: str, _frequency_hz: int) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Room:
    """Everybody who is on the air together, and where somebody may step aside.

    ``apart`` are pairs of places, either way round, whose links need not keep off one another: other zones, as
    measured, or scenes that are never on the air together. ``parking_hz`` are frequencies on which a link may wait, the
    best first. ``tunes`` says whether all ends of a link can take a frequency.
    """

    links: tuple[Link, ...]
    held: tuple[Held, ...] = ()
    apart: frozenset[tuple[str, str]] = frozenset()
    parking_hz: tuple[int, ...] = ()
    tunes: Callable[[str, int], bool] = _tunes_everywhere


@dataclass(frozen=True, slots=True)
class Step:
    """One link goes to one frequency, its ends one after the other: ``ends`` as they stood, those that must move.

    A step to sleep goes nowhere: ``to_hz`` is None. A wake is the way back onto the air, on the new frequency.
    """

    kind: StepKind
    link_id: str
    ends: tuple[End, ...]
    to_hz: int | None


@dataclass(frozen=True, slots=True)
class Blocked:
    """A link that can't be brought to where it is wanted; ``by`` are the links in its way, where links are."""

    link_id: str
    reason: str
    by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Order:
    """The steps in their order, and the links that stay where they are, with the reason.

    ``aside`` counts the links that step aside, by parking or asleep. ``fewest`` says that no order needs fewer of them;
    it is False where the search was given up for the size of the tangle, or where free frequencies were short.
    """

    steps: tuple[Step, ...]
    blocked: tuple[Blocked, ...] = ()
    aside: int = 0
    fewest: bool = True
