"""Who is who in a world: a row for each channel with its carrier and antenna inputs, a seat for each pack."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.model.address import branch_address, carrier_address, channel_address, pack_address
from simulator.scenario import Channel, Receiver, Scenario


@dataclass(frozen=True, slots=True)
class Row:
    """One channel of one receiver, and the addresses of all that belongs to it; ``pack_seat`` is its linked pack's."""

    index: int
    receiver: Receiver
    spec: Channel
    carrier: str
    branches: tuple[str, ...]
    channel: str
    pack: str
    pack_seat: int

    @property
    def device_id(self) -> str:
        """The receiver's device id."""
        return self.receiver.id


@dataclass(frozen=True, slots=True)
class Seat:
    """One pack: its place in the world's columns, and the receiver and channel that it came with.

    ``rows`` are those by whose carriers the device that controls it learns of it.
    """

    index: int
    address: str
    receiver: Receiver
    spec: Channel
    rows: tuple[int, ...]
    controller: str


def rows_of(scenario: Scenario) -> tuple[Row, ...]:
    """All rows in the order of the scenario."""
    channels = [
        (receiver, number, channel)
        for receiver in scenario.receiver
        for number, channel in enumerate(receiver.channel, start=1)
    ]
    return tuple(_row(index, *channel) for index, channel in enumerate(channels))


def _row(index: int, receiver: Receiver, number: int, channel: Channel) -> Row:
    carrier = carrier_address(receiver.id, number)
    return Row(
        index=index,
        receiver=receiver,
        spec=channel,
        carrier=carrier,
        branches=tuple(branch_address(carrier, label) for label in receiver.antennas),
        channel=channel_address(receiver.id, number),
        pack=pack_address(channel.pack),
        pack_seat=index,
    )


def seats_of(rows: tuple[Row, ...]) -> tuple[Seat, ...]:
    """The packs of these rows, in their order."""
    return tuple(Seat(row.pack_seat, row.pack, row.receiver, row.spec, (row.index,), row.device_id) for row in rows)
