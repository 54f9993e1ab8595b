"""Changes to try: powers of chosen carriers, a zone's lowest step, an antenna elsewhere, a broadcaster on.

Each gives another site; the one before, and the plan it was made from, stay as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce

from fleet.errors import InvalidDocument
from fleet.planning.what_if.site import FILE, Block, Place, Reference, Site, Transmitter

CHANGES_MAXIMUM = 100
Named = tuple[str, int]
"""A carrier of a plan: its group and frequency in Hz."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """Whom a change is about: those of any of these carriers, groups or zones, everybody if none is named.

    ``but`` are left as they are, so that *everyone off-stage* is everyone but those on stage.
    """

    carriers: tuple[Named, ...] = ()
    groups: tuple[str, ...] = ()
    zones: tuple[str, ...] = ()
    but: tuple[Named, ...] = ()

    def holds(self, each: Transmitter) -> bool:
        """Whether a transmitter is among them."""
        name = (each.group, each.frequency_hz)
        everybody = not (self.carriers or self.groups or self.zones)
        named = name in self.carriers or each.group in self.groups or each.zone in self.zones
        return (everybody or named) and name not in self.but


@dataclass(frozen=True, slots=True)
class PowerTo:
    """The chosen ones are set to a power."""

    chosen: Chosen
    power_dbm: float
    reference: Reference = "erp"


@dataclass(frozen=True, slots=True)
class PowerBy:
    """The chosen ones are turned up, or down by less than zero."""

    chosen: Chosen
    change_db: float


@dataclass(frozen=True, slots=True)
class LowestStep:
    """The chosen ones go down to the lowest power that each can be set to."""

    chosen: Chosen


@dataclass(frozen=True, slots=True)
class AntennaMoved:
    """An antenna stands elsewhere."""

    name: str
    position_m: Place


@dataclass(frozen=True, slots=True)
class BroadcasterOn:
    """A block of spectrum is occupied that wasn't before."""

    block: Block


Change = PowerTo | PowerBy | LowestStep | AntennaMoved | BroadcasterOn


def changed(site: Site, changes: Sequence[Change]) -> Site:
    """The site after all changes, one after the other.

    Raises InvalidDocument where a change is about nobody or can't be reckoned; then none counts.
    """
    if len(changes) > CHANGES_MAXIMUM:
        raise InvalidDocument(FILE, "changes", f"at most {CHANGES_MAXIMUM}", len(changes))
    return reduce(lambda before, each: _changed(before, each[1], f"changes[{each[0]}]"), enumerate(changes), site)


def _changed(site: Site, change: Change, key: str) -> Site:
    match change:
        case PowerTo() | PowerBy() | LowestStep():
            return _powered(site, change, key)
        case AntennaMoved():
            return _moved(site, change, key)
        case BroadcasterOn(block):
            return replace(site, blocks=(*site.blocks, block))


def _powered(site: Site, change: PowerTo | PowerBy | LowestStep, key: str) -> Site:
    _all_known(site, change.chosen, key)
    if not any(change.chosen.holds(each) for each in site.transmitters):
        raise InvalidDocument(FILE, f"{key}.chosen", "somebody whom it is about", "nobody")
    return replace(
        site,
        transmitters=tuple(
            _with_power(each, change, key) if change.chosen.holds(each) else each for each in site.transmitters
        ),
    )


def _with_power(each: Transmitter, change: PowerTo | PowerBy | LowestStep, key: str) -> Transmitter:
    match change:
        case PowerTo(_, power_dbm, reference):
            return replace(each, power_dbm=power_dbm, reference=reference)
        case PowerBy(_, change_db):
            return replace(each, power_dbm=each.power_dbm + change_db)
        case LowestStep():
            if not each.steps_dbm:
                found = f"none for {each.group} at {each.frequency_hz} Hz"
                raise InvalidDocument(FILE, f"{key}.chosen", "carriers whose power steps are known", found)
            return replace(each, power_dbm=min(each.steps_dbm))


def _all_known(site: Site, chosen: Chosen, key: str) -> None:
    """Refuse names that nothing has: a change that silently leaves somebody out would be believed."""
    carriers = {(each.group, each.frequency_hz) for each in site.transmitters}
    groups, zones = {each.group for each in site.transmitters}, {each.zone for each in site.transmitters}
    for kind, named, known in (
        ("carriers", chosen.carriers, carriers),
        ("groups", chosen.groups, groups),
        ("zones", chosen.zones, zones),
        ("but", chosen.but, carriers),
    ):
        for each in named:
            if each not in known:
                raise InvalidDocument(FILE, f"{key}.chosen.{kind}", "names that the plan has", each)


def _moved(site: Site, change: AntennaMoved, key: str) -> Site:
    zones = [antenna.zone for antenna in site.antennas if antenna.name == change.name]
    if not zones:
        known = ", ".join(antenna.name for antenna in site.antennas)
        raise InvalidDocument(FILE, f"{key}.name", f"one of {known}", change.name)
    for each in site.transmitters:
        if each.zone == zones[0] and each.position_m is None:
            found = f"only a distance for {each.group} at {each.frequency_hz} Hz"
            raise InvalidDocument(FILE, f"{key}.name", "an antenna whose carriers all have a position", found)
    return replace(
        site,
        antennas=tuple(
            replace(antenna, position_m=change.position_m) if antenna.name == change.name else antenna
            for antenna in site.antennas
        ),
    )
