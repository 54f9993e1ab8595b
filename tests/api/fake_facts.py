"""What the console that stands still is made of: its device, its tables, its journal."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fleet.errors import (
    JournalUnavailable,
    NotFound,
)
from fleet.model.address import Place
from fleet.model.capability import Capability, Held, SchemaType, ValueSchema
from fleet.model.command import Command
from fleet.model.device import (
    CarrierDescription,
    ChannelDescription,
    DeviceDescription,
)
from fleet.model.event import CommandChanged, Recorded
from fleet.model.fields import Value, column_fields
from fleet.model.moment import Moment
from fleet.model.production import Position, Production
from fleet.model.quality import Quality

PACK = "pack/k01"
LOW_CUT = ValueSchema(SchemaType.INTEGER, enum=(0, 80, 100, 120))
TRIM = ValueSchema(SchemaType.NUMBER, minimum=-12.0, maximum=30.0, multiple_of=1.0)
FREQUENCY = ValueSchema(SchemaType.INTEGER, minimum=470_000_000, maximum=516_000_000, multiple_of=25_000)
SCHEMAS = {
    "low_cut_hz": LOW_CUT,
    "input_trim_db": TRIM,
    "frequency_hz": FREQUENCY,
    "muted": ValueSchema(SchemaType.BOOLEAN),
    "name": ValueSchema(SchemaType.STRING),
}
SETTINGS: dict[str, Value] = {
    "low_cut_hz": 80,
    "input_trim_db": 0.0,
    "frequency_hz": 470_100_000,
    "muted": False,
    "name": "K01",
}
PRODUCTION = Production(
    "The Lamp at Tern Rock", ("House",), (Position(1, "Keeper", "House", "house-1/channel/1", PACK, spare=False),)
)


def describe(device_id: str, *packs: str) -> DeviceDescription:
    carrier = f"{device_id}/carrier/1"
    channel = f"{device_id}/channel/1"
    capabilities = tuple(
        Capability((pack,), name, schema, Held.PACK) for pack in packs for name, schema in SCHEMAS.items()
    )
    return DeviceDescription(
        device_id,
        "receiver",
        "rack, two channels",
        simulated=True,
        read_only=False,
        carriers=(CarrierDescription(carrier, (f"{carrier}/branch/a", f"{carrier}/branch/b"), (channel,)),),
        channels=(ChannelDescription(channel, carrier, next(iter(packs), None)),),
        packs=packs,
        capabilities=capabilities,
    )


@dataclass(slots=True)
class FakeTable:
    place: Place
    addresses: tuple[str, ...]

    @property
    def values(self) -> NDArray[np.float64]:
        shape = (len(column_fields(self.place)), len(self.addresses))
        values = np.zeros(shape)
        values[-1:] = np.nan
        return values

    @property
    def qualities(self) -> NDArray[np.uint8]:
        qualities = np.full(self.values.shape, Quality.GOOD, dtype=np.uint8)
        qualities[-1:] = Quality.ABSENT
        return qualities

    def ages_100ms(self, at: Moment) -> NDArray[np.uint16]:
        del at
        ages = np.full(self.values.shape, 3, dtype=np.uint16)
        ages[-1:] = 65_535
        return ages


@dataclass(slots=True)
class FakeReader:
    kept: list[Recorded] = field(default_factory=list)
    broken: bool = False
    asked_address: str | None = None

    def events(
        self, since: int = 0, limit: int = 100, *, kind: str | None = None, address: str | None = None
    ) -> tuple[Recorded, ...]:
        if self.broken:
            raise JournalUnavailable("the disk is full")
        self.asked_address = address
        found = [one for one in self.kept if one.sequence > since and kind in {None, one.event.kind}]
        return tuple(found[:limit])

    def command(self, command_id: str) -> Command:
        for one in self.commands(limit=1_000):
            if one.command_id == command_id:
                return one
        raise NotFound("command", command_id)

    def commands(self, before: Command | None = None, limit: int = 100) -> tuple[Command, ...]:
        if self.broken:
            raise JournalUnavailable("the disk is full")
        events = [one.event for one in self.kept]
        found = {event.command.command_id: event.command for event in events if isinstance(event, CommandChanged)}
        newest = list(reversed(found.values()))
        if before is not None:
            newest = newest[1 + [one.command_id for one in newest].index(before.command_id) :]
        return tuple(newest[:limit])
