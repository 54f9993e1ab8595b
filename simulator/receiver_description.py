"""How a receiver describes itself: its shape and its settings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fleet.model.address import output_address
from fleet.model.capability import Capability, Held, SchemaType, ValueSchema
from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription, OutputDescription
from simulator.capabilities import FLAG, TEXT, TRIM, frequencies
from simulator.own_settings import Places, own_capabilities
from simulator.rows import Row

Outputs = Mapping[str, str]


def describe_receiver(rows: Sequence[Row], outputs: Outputs) -> DeviceDescription:
    """The description of the receiver that these rows belong to, with outputs of these forms by label."""
    spec = rows[0].receiver
    shown = tuple(OutputDescription(output_address(spec.id, label), form) for label, form in outputs.items())
    own = own_capabilities(spec.extra, places_of(rows, outputs))
    return DeviceDescription(
        device_id=spec.id,
        kind="receiver",
        form=spec.form,
        simulated=True,
        read_only=spec.read_only,
        carriers=_carriers(rows),
        channels=tuple(ChannelDescription(row.channel, row.carrier, row.pack) for row in rows),
        outputs=shown,
        capabilities=(*own, *_usual(rows)),
    )


def places_of(rows: Sequence[Row], outputs: Outputs) -> Places:
    """Its addresses by place; its packs describe themselves."""
    spec = rows[0].receiver
    return {
        "device": (spec.id,),
        "carrier": tuple(dict.fromkeys(row.carrier for row in rows)),
        "branch": tuple(dict.fromkeys(branch for row in rows for branch in row.branches)),
        "channel": tuple(row.channel for row in rows),
        "output": tuple(output_address(spec.id, label) for label in outputs),
    }


def _carriers(rows: Sequence[Row]) -> tuple[CarrierDescription, ...]:
    carriers = dict.fromkeys(row.carrier for row in rows)
    borne = {carrier: [row for row in rows if row.carrier == carrier] for carrier in carriers}
    return tuple(
        CarrierDescription(carrier, own[0].branches, tuple(row.channel for row in own), own[0].receiver.analog)
        for carrier, own in borne.items()
    )


def _usual(rows: Sequence[Row]) -> tuple[Capability, ...]:
    spec = rows[0].receiver
    carriers = tuple(dict.fromkeys(row.carrier for row in rows))
    channels = tuple(row.channel for row in rows)
    sockets = dict.fromkeys(pair for row in rows for pair in zip(spec.antennas, row.branches, strict=True))
    fed = tuple(branch for label, branch in sockets if label in spec.feeds)
    modes = ValueSchema(SchemaType.STRING, enum=tuple(spec.modes))
    found = (
        Capability(fed, "feed_powered", FLAG, Held.RECEIVER, mutes=True),
        Capability((spec.id,), "name", TEXT, Held.RECEIVER),
        Capability(
            carriers,
            "frequency_hz",
            frequencies(spec.tuning),
            Held.RECEIVER,
            unit="Hz",
            mutes=True,
            writable=not spec.hopping,
        ),
        Capability(carriers if spec.modes else (), "mode", modes, Held.RECEIVER, mutes=True),
        Capability(channels, "name", TEXT, Held.RECEIVER),
        Capability(channels, "trim_db", TRIM, Held.RECEIVER, unit="dB"),
        Capability(channels, "muted", FLAG, Held.RECEIVER, mutes=True),
    )
    return tuple(each for each in found if each.targets)
