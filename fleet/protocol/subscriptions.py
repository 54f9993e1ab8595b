"""The subscriptions of one conversation: whose they are, and which frame of each came last."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.errors import UnexpectedMessage
from fleet.protocol.messages import Readings
from fleet.protocol.received import Gap


@dataclass(slots=True)
class _Subscription:
    target: str
    last: int | None = None


class Subscriptions:
    """The open ones, by number."""

    def __init__(self) -> None:
        self._open: dict[int, _Subscription] = {}

    def __len__(self) -> int:
        return len(self._open)

    def __contains__(self, number: int) -> bool:
        return number in self._open

    def open(self, number: int, target: str, state: str) -> None:
        """Begin one.

        Raises UnexpectedMessage when the number is in use.
        """
        if number in self._open:
            raise UnexpectedMessage(f"subscription {number} twice", state)
        self._open[number] = _Subscription(target)

    def end(self, number: int) -> None:
        """End one, if it is open."""
        self._open.pop(number, None)

    def end_of(self, target: str) -> None:
        """End those of a device."""
        self._open = {number: each for number, each in self._open.items() if each.target != target}

    def clear(self) -> None:
        """End all."""
        self._open.clear()

    def count(self, frame: Readings, state: str) -> Gap | None:
        """Take a frame in; what is missing before it, if anything.

        Raises UnexpectedMessage when its subscription isn't open or its number doesn't rise.
        """
        subscription = self._open.get(frame.subscription)
        if subscription is None:
            raise UnexpectedMessage(f"readings of subscription {frame.subscription}", state)
        last, subscription.last = subscription.last, frame.sequence
        if last is None or frame.sequence == last + 1:
            return None
        if frame.sequence <= last:
            raise UnexpectedMessage(f"readings {frame.sequence} after {last}", state)
        return Gap(frame.subscription, last + 1, frame.sequence)
