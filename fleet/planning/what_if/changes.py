"""Changes to try: powers of chosen carriers, a zone's lowest step, an antenna elsewhere, a broadcaster on.

Each gives another site; the one before, and the plan it was made from, stay as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import msgspec

from fleet.errors import InvalidDocument
from fleet.planning.what_if.known_carriers import Chosen, KnownCarriers
from fleet.planning.what_if.site import FILE, Block, Place, Reference, Site, Transmitter

CHANGES_MAXIMUM = 100
Power = tuple[float, Reference]
"""A power in dBm and what it is counted over."""


class PowerTo(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="power to"):
    """The chosen ones are set to a power."""

    chosen: Chosen
    power_dbm: float
    reference: Reference = "erp"


class PowerBy(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="power by"):
    """The chosen ones are turned up, or down by less than zero."""

    chosen: Chosen
    change_db: float


class LowestStep(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="lowest step"):
    """The chosen ones go down to the lowest power that each can be set to."""

    chosen: Chosen


class AntennaMoved(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="antenna moved"):
    """An antenna stands elsewhere."""

    name: str
    position_m: Place


class BroadcasterOn(msgspec.Struct, frozen=True, forbid_unknown_fields=True, tag_field="kind", tag="broadcaster on"):
    """A block of spectrum is occupied that wasn't before."""

    block: Block


Change = PowerTo | PowerBy | LowestStep | AntennaMoved | BroadcasterOn


def changed(site: Site, changes: Sequence[Change]) -> Site:
    """The site after all changes, one after the other.

    Raises InvalidDocument where a change is about nobody or can't be reckoned; then none counts.
    """
    if len(changes) > CHANGES_MAXIMUM:
        raise InvalidDocument(FILE, "changes", f"at most {CHANGES_MAXIMUM}", len(changes))
    known = KnownCarriers(site.transmitters)
    powers = [(each.power_dbm, each.reference) for each in site.transmitters]
    for index, change in enumerate(changes):
        key = f"changes[{index}]"
        match change:
            case PowerTo() | PowerBy() | LowestStep():
                for place in _about(change.chosen, known, f"{key}.chosen"):
                    powers[place] = _power(site.transmitters[place], powers[place], change, f"{key}.chosen")
            case AntennaMoved():
                site = _moved(site, change, key)
            case BroadcasterOn(block):
                site = replace(site, blocks=(*site.blocks, block))
    transmitters = tuple(
        replace(each, power_dbm=power_dbm, reference=reference)
        for each, (power_dbm, reference) in zip(site.transmitters, powers, strict=True)
    )
    return replace(site, transmitters=transmitters)


def _about(chosen: Chosen, known: KnownCarriers, key: str) -> set[int]:
    found = known.named(chosen, key)
    if not found:
        raise InvalidDocument(FILE, key, "somebody whom it is about", "nobody")
    return found


def _power(each: Transmitter, now: Power, change: PowerTo | PowerBy | LowestStep, key: str) -> Power:
    """What a transmitter radiates after a change, of what it does now."""
    match change:
        case PowerTo(_, power_dbm, reference):
            return power_dbm, reference
        case PowerBy(_, change_db):
            return now[0] + change_db, now[1]
        case LowestStep():
            if not each.steps_dbm:
                found = f"none for {each.group} at {each.frequency_hz} Hz"
                raise InvalidDocument(FILE, key, "carriers whose power steps are known", found)
            return min(each.steps_dbm), each.reference


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
