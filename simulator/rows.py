"""Who is who in a world: a row for each channel with its carrier and antenna inputs, a seat for each pack."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.model.address import branch_address, carrier_address, channel_address, pack_address
from simulator.scenario import Channel, Receiver, Scenario


@dataclass(frozen=True, slots=True)
class Row:
    """One channel of one receiver, and the addresses of all that belongs to it; ``seat`` is its linked pack's.

    ``slot`` is its place within a wide carrier, from 1; 0 on a narrow one.
    """

    index: int
    receiver: Receiver
    spec: Channel
    carrier: str
    branches: tuple[str, ...]
    channel: str
    pack: str
    seat: int
    slot: int

    @property
    def device_id(self) -> str:
        """The receiver's device id."""
        return self.receiver.id


@dataclass(frozen=True, slots=True)
class Seat:
    """One pack: its place in the world's columns, and the receiver and channel that it came with.

    ``controller`` is the device that controls it, over a return link if ``linked``; ``rows`` are those by whose
    carriers that device learns of it.
    """

    index: int
    address: str
    receiver: Receiver
    spec: Channel
    rows: tuple[int, ...]
    controller: str
    linked: bool
    slot: int


def rows_of(scenario: Scenario) -> tuple[Row, ...]:
    """All rows in the order of the scenario."""
    channels = [
        (receiver, number, channel)
        for receiver in scenario.receiver
        for number, channel in enumerate(receiver.channel, start=1)
    ]
    owned = [channel.pack for _, _, channel in channels if not channel.hears]
    seats = {pack: seat for seat, pack in enumerate(owned)}
    return tuple(_row(index, seats[each[2].pack], *each) for index, each in enumerate(channels))


def _row(index: int, seat: int, receiver: Receiver, number: int, channel: Channel) -> Row:
    carrier = carrier_address(receiver.id, 1 if receiver.wide else number)
    return Row(
        index=index,
        receiver=receiver,
        spec=channel,
        carrier=carrier,
        branches=tuple(branch_address(carrier, label) for label in receiver.antennas),
        channel=channel_address(receiver.id, number),
        pack=pack_address(channel.pack),
        seat=seat,
        slot=number if receiver.wide else 0,
    )


def seats_of(rows: tuple[Row, ...]) -> tuple[Seat, ...]:
    """The packs of these rows, in their order."""
    return tuple(_seat(row, rows) for row in rows if not row.spec.hears)


def _seat(own: Row, rows: tuple[Row, ...]) -> Seat:
    controller = own.spec.controlled_by or own.device_id
    far = controller != own.device_id  # An access point is told by whoever hears the pack.
    told = tuple(row.index for row in rows if row.seat == own.seat and (far or row.device_id == controller))
    linked = own.spec.return_link
    return Seat(own.seat, own.pack, own.receiver, own.spec, told, controller, linked, own.slot)
