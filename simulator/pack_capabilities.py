"""The settings of packs, which their receiver or an access point reaches over the air, or a hand alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from fleet.model.capability import Capability, Held, SchemaType, ValueSchema
from fleet.physics.discharge import CHEMISTRIES
from simulator.capabilities import FLAG, TEXT, frequencies
from simulator.own_settings import own_capabilities
from simulator.rows import Seat
from simulator.scenario import Receiver
from simulator.scenario_checks import LOW_CUTS_HZ

_INPUT_TRIM = ValueSchema(SchemaType.NUMBER, minimum=-24.0, maximum=24.0, multiple_of=3.0)
_CELLS = ValueSchema(SchemaType.STRING, enum=tuple(CHEMISTRIES))
_LOW_CUT = ValueSchema(SchemaType.INTEGER, enum=LOW_CUTS_HZ)


def pack_capabilities(seats: Sequence[Seat]) -> tuple[Capability, ...]:
    """The settings of these packs."""
    found: list[Capability] = []
    for (_, linked), group in groupby(seats, key=lambda seat: (seat.receiver.id, seat.linked)):
        alike = tuple(group)
        packs = tuple(seat.address for seat in alike)
        receiver = alike[0].receiver
        usual = _usual(receiver, packs)
        extras = [extra for extra in receiver.extra if extra.place == "pack"]
        own = own_capabilities(extras, {"device": (receiver.id,), "pack": packs})
        found += [replace(each, needs_hand=each.needs_hand or not linked) for each in (*own, *usual)]
    return tuple(found)


def _usual(receiver: Receiver, packs: tuple[str, ...]) -> tuple[Capability, ...]:
    powers = ValueSchema(SchemaType.NUMBER, enum=receiver.rf_power_steps_mw)

    def held(field: str, schema: ValueSchema, unit: str = "", *, mutes: bool = False, awake: bool = True) -> Capability:
        return Capability(packs, field, schema, Held.PACK, unit=unit, mutes=mutes, needs_awake=awake)

    return (
        held("name", TEXT),
        replace(held("frequency_hz", frequencies(receiver.tuning), "Hz", mutes=True), writable=not receiver.hopping),
        held("input_trim_db", _INPUT_TRIM, "dB"),
        held("low_cut_hz", _LOW_CUT, "Hz"),
        held("rf_power_mw", powers, "mW"),
        held("standby", FLAG, mutes=True, awake=False),
        held("muted", FLAG, mutes=True),
        held("cell_type", _CELLS),
    )
