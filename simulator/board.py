"""A device's settings as it knows them: which are there now, which values they take, and their revisions."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import groupby

from fleet.errors import InvalidRequest, ValueRefused
from fleet.model.address import Place, parse_address
from fleet.model.capability import Capability, in_force
from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from simulator.capabilities import allowed, as_held, nearest, problem_of

Known = Mapping[str, dict[str, Value]]
_OF_THE_DEVICE = frozenset({Place.DEVICE, Place.OUTPUT, Place.INPUT, Place.BAY})


def counter_of(address: str) -> str:
    """The address whose revision counts for that one.

    Outputs, inputs and bays share the device's, branches the carrier's.
    """
    parsed = parse_address(address)
    if parsed.place in _OF_THE_DEVICE:
        return parsed.device_id
    return address.partition("/branch/")[0]


class Board:
    """The settings of one boot. ``known`` gives all of them by address, those included that aren't there now."""

    def __init__(self, boot_id: str, description: DeviceDescription, known: Callable[[], Known]) -> None:
        self._boot_id = boot_id
        self._known = known
        self._revisions = {counter_of(address): 1 for address in known()}
        self._candidates: dict[tuple[str, str], tuple[Capability, ...]] = {}
        self._conditional = False
        self.redescribe(description)

    def redescribe(self, description: DeviceDescription) -> None:
        """Take the capabilities of another description."""
        each = [(target, one.field, one) for one in description.capabilities for target in one.targets]
        each.sort(key=lambda found: found[:2])
        self._candidates = {
            key: tuple(one for _, _, one in found) for key, found in groupby(each, key=lambda found: found[:2])
        }
        self._conditional = any(one.when for one in description.capabilities)
        for address in self._known():
            self._revisions.setdefault(counter_of(address), 1)

    def addresses(self) -> list[str]:
        """Everything that has settings."""
        return list(self._known())

    def revision(self, address: str) -> str:
        """The revision of an address within this boot."""
        return f"{self._boot_id}.{self._revisions[counter_of(address)]}"

    def raise_revision(self, address: str) -> str:
        """Count a change; the new revision."""
        self._revisions[counter_of(address)] += 1
        return self.revision(address)

    def settings(self, address: str) -> dict[str, Value]:
        """The settings of an address that are there now."""
        held = self._known()[address]
        if not self._conditional:
            return dict(held)
        return {field: value for field, value in held.items() if self.capability(address, field) is not None}

    def all_settings(self) -> dict[str, dict[str, Value]]:
        """The settings of every address that are there now."""
        return {address: self.settings(address) for address in self._known()}

    @property
    def conditional(self) -> bool:
        """Whether settings may come and go with others."""
        return self._conditional

    def capability(self, address: str, field: str) -> Capability | None:
        """The capability in force of that field at that address."""
        known = self._known()
        return in_force(self._candidates.get((address, field), ()), lambda other: known.get(other or address, {}))

    def needs_hand(self, address: str, fields: Iterable[str]) -> bool:
        """Whether one of these fields is set by a hand only."""
        found = (self.capability(address, field) for field in fields)
        return any(each is not None and each.needs_hand for each in found)

    def checked(self, address: str, changes: Mapping[str, Value], *, by_hand: bool = False) -> dict[str, Value]:
        """The changes as the device keeps them; a hand may set what the network may only read.

        Raises ValueRefused for a value that can't be, InvalidRequest for a field that isn't there.
        """
        checked: dict[str, Value] = {}
        for field, value in changes.items():
            capability = self.capability(address, field)
            if capability is None:
                raise InvalidRequest(f"{address} has no setting {field}")
            problem = problem_of(capability, value, writing=not by_hand)
            if problem is not None:
                raise ValueRefused(address, field, problem, allowed(capability))
            checked[field] = as_held(capability, value)
        return checked

    def unfit(self) -> Iterable[tuple[str, str, Value]]:
        """Settings whose value another setting has made impossible, each with the nearest possible value."""
        if not self._conditional:
            return
        for address, held in self._known().items():
            for field, value in held.items():
                capability = self.capability(address, field)
                if capability is not None and problem_of(capability, value, writing=False) is not None:
                    yield address, field, nearest(capability, value)
