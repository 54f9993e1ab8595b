"""The production document: parts, channels and zones in the order the people think of them, wiring, running order.

A day without a running order leaves it out, and everything works.
"""

from __future__ import annotations

from dataclasses import dataclass

from fleet.model.running_order import COMMON_PRACTICE, NO_ORDER, Cue, Practice, RunningOrder


@dataclass(frozen=True, slots=True)
class Position:
    """One numbered row of the production: which part is heard on which channel, with which pack.

    ``part`` is a role, never a person; a cue may cast the row otherwise. A spare is not assigned to anybody yet.
    ``owner`` is the role of whoever looks after the row, empty when that isn't settled.
    """

    number: int
    part: str
    zone: str
    channel: str
    pack: str | None = None
    spare: bool = False
    owner: str = ""


@dataclass(frozen=True, slots=True)
class Rack:
    """Devices that stand together and share power and clock; a device is in one rack at the most."""

    name: str
    devices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Network:
    """Devices that are reached over the same network; a device may be on several."""

    name: str
    devices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AntennaPath:
    """What comes in over one antenna feed: the feed's name, the input of a distribution if one splits it, the branches.

    A branch hangs on one feed at the most.
    """

    feed: str
    branches: tuple[str, ...]
    input: str | None = None


@dataclass(frozen=True, slots=True)
class Production:
    """A production: its name, its zones in order, its rows in order, what it is wired to, and its running order."""

    name: str
    zones: tuple[str, ...]
    positions: tuple[Position, ...]
    racks: tuple[Rack, ...] = ()
    networks: tuple[Network, ...] = ()
    antenna_paths: tuple[AntennaPath, ...] = ()
    order: RunningOrder = NO_ORDER
    practice: Practice = COMMON_PRACTICE

    def position_of_channel(self, channel: str) -> Position | None:
        """The row that is heard on that channel."""
        return next((position for position in self.positions if position.channel == channel), None)

    def position(self, number: int) -> Position | None:
        """The row of that number."""
        return next((position for position in self.positions if position.number == number), None)

    def part_in(self, position: Position, cue: Cue | None) -> str:
        """Which part wears the pack of a row during a cue."""
        castings = () if cue is None else cue.castings
        return next((casting.part for casting in castings if casting.number == position.number), position.part)


NO_PRODUCTION = Production("", (), ())
