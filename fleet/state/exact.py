"""Readings that are text or exact integers: latest wins, changes handed out once a tick."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fleet.model.address import Place
from fleet.model.fields import Kind, Plane, Value, reading

TEXT_LENGTH_MAXIMUM = 256


class ExactReadings:
    """The exact readings by address and name, and what changed since the last drain."""

    def __init__(self) -> None:
        self._values: dict[str, dict[str, Value]] = {}
        self._changed: dict[str, dict[str, Value | None]] = {}

    def report(self, place: Place, address: str, values: Mapping[str, Value | None]) -> tuple[str, ...]:
        """Take readings in; the names that nobody knows, or whose values don't fit, are left out and returned."""
        refused: list[str] = []
        held = self._values.setdefault(address, {})
        for name, value in values.items():
            if not _fits(place, name, value):
                refused.append(name)
            elif held.get(name) != value:
                _put(held, name, value)
                self._changed.setdefault(address, {})[name] = value
        return tuple(refused)

    def withdraw(self, addresses: Iterable[str]) -> None:
        """Nobody tells these any more: what was told of them is not what is."""
        for address in addresses:
            for name in self._values.pop(address, {}):
                self._changed.setdefault(address, {})[name] = None

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
