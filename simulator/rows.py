"""The rows of a world: one for each channel, with its carrier, its antenna inputs and its linked pack."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.model.address import branch_address, carrier_address, channel_address, pack_address
from simulator.scenario import Channel, Receiver, Scenario


@dataclass(frozen=True, slots=True)
class Row:
    """One channel of one receiver, and the addresses of all that belongs to it."""

    index: int
    receiver: Receiver
    spec: Channel
    carrier: str
    branches: tuple[str, ...]
    channel: str
    pack: str

    @property
    def device_id(self) -> str:
        """The receiver's device id."""
        return self.receiver.id


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
    )
