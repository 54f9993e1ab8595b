"""The production document: parts, channels, zones, in the order the people think of them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Position:
    """One numbered row of the production: which part is heard on which channel, with which pack.

    ``part`` is a role, never a person. A spare is not assigned to anybody yet.
    """

    number: int
    part: str
    zone: str
    channel: str
    pack: str | None = None
    spare: bool = False


@dataclass(frozen=True, slots=True)
class Production:
    """A production: its name, its zones in order, its rows in order."""

    name: str
    zones: tuple[str, ...]
    positions: tuple[Position, ...]

    def position_of_channel(self, channel: str) -> Position | None:
        """The row that is heard on that channel."""
        return next((position for position in self.positions if position.channel == channel), None)


NO_PRODUCTION = Production("", (), ())
