"""Readings that are text or exact integers: latest wins, changes handed out once a tick.

They have no quality and no age of their own: what is present is what a device in contact says now. What one says before
it has proved itself waits, and what it said is withdrawn with the contact.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fleet.model.address import Place
from fleet.model.fields import Kind, Plane, Value, reading

TEXT_LENGTH_MAXIMUM = 256


class ExactReadings:
    """The exact readings by address and name, and what changed since the last drain."""

    def __init__(self) -> None:
        self._values: dict[str, dict[str, Value]] = {}
        self._waiting: dict[str, dict[str, Value | None]] = {}
        self._changed: dict[str, dict[str, Value | None]] = {}

    def report(
        self, place: Place, address: str, values: Mapping[str, Value | None], *, in_contact: bool
    ) -> tuple[str, ...]:
        """Take readings in; the names that nobody knows, or whose values don't fit, are left out and returned."""
        fitting = {name: value for name, value in values.items() if _fits(place, name, value)}
        if in_contact:
            self._show(address, fitting)
        else:
            self._waiting.setdefault(address, {}).update(fitting)
        return tuple(name for name in values if name not in fitting)

    def _show(self, address: str, values: Mapping[str, Value | None]) -> None:
        held = self._values.setdefault(address, {})
        for name, value in values.items():
            if held.get(name) != value:
                _put(held, name, value)
                self._changed.setdefault(address, {})[name] = value

    def release(self, addresses: Iterable[str]) -> None:
        """The device that told these is in contact: what waited is what is."""
        for address in addresses:
            self._show(address, self._waiting.pop(address, {}))

    def withdraw(self, addresses: Iterable[str]) -> None:
        """Nobody tells these any more: what was told of them is not what is."""
        for address in addresses:
            self._waiting.pop(address, None)
            for name in self._values.pop(address, {}):
                self._changed.setdefault(address, {})[name] = None

    def of(self, address: str) -> dict[str, Value]:
        """All that is present of one thing, as a copy."""
        return dict(self._values.get(address, {}))

    def values(self) -> dict[str, dict[str, Value]]:
        """All that is present, as a copy."""
        return {address: dict(values) for address, values in self._values.items() if values}

    def drain(self) -> dict[str, dict[str, Value | None]]:
        """What changed since the last drain, None where a reading became absent."""
        changed, self._changed = self._changed, {}
        return changed


def _put(held: dict[str, Value], name: str, value: Value | None) -> None:
    if value is None:
        held.pop(name, None)
    else:
        held[name] = value


def _fits(place: Place, name: str, value: Value | None) -> bool:
    known = reading(place, name)
    if known is None or known.plane is not Plane.EXACT:
        return False
    if value is None:
        return True
    if known.kind is Kind.TEXT:
        return isinstance(value, str) and len(value) <= TEXT_LENGTH_MAXIMUM
    if not isinstance(value, int) or isinstance(value, bool):
        return False
    return (known.minimum is None or value >= known.minimum) and (known.maximum is None or value <= known.maximum)
