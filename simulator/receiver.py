"""A receiver: its carriers with their antenna inputs, and its channels."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription
from fleet.model.fields import FLOOR_METHODS, Value
from fleet.protocol.messages import LayoutEntry
from simulator.capabilities import extra_capabilities, receiver_capabilities
from simulator.gear import Exact, Reading
from simulator.meters import Meters
from simulator.rows import Row
from simulator.spectrum import NOBODY
from simulator.world import World

_MEASURED = FLOOR_METHODS.index("measured")
_BRANCH = ["rf_dbm", "rf_min_dbm", "rf_max_dbm", "floor_dbm", "floor_age_s", "floor_method", "overload"]
_FEED = ["feed_ma", "feed_fault"]
_CARRIER = ["foreign"]
_CHANNEL = ["peak_dbfs", "rms_dbfs", "audio_damage_fraction", "audio_state"]
_ANALOG_CHANNEL = [*_CHANNEL, "peak_dbu", "rms_dbu", "deviation_hz"]


class ReceiverGear:
    """The receiver that all these rows of the world belong to; there is at least one."""

    def __init__(self, world: World, rows: Sequence[Row]) -> None:
        self.rows = tuple(rows)
        self._world = world
        self._spec = rows[0].receiver
        own: dict[str, Value] = {"name": self._spec.name or self._spec.id}
        own |= {extra.field: extra.value for extra in self._spec.extra if extra.place == "device"}
        self.settings: dict[str, dict[str, Value]] = {self._spec.id: own}
        for row in rows:
            front = world.fronts[row.index]
            self.settings |= {row.carrier: front.carrier, row.channel: front.channel}
            self.settings |= {each: own for each, own in zip(row.branches, front.branches, strict=True) if own}
        feeds = world.feeds.by_antenna
        self._fed = {
            label: feeds[antenna] for label, antenna in self._spec.antennas.items() if label in self._spec.feeds
        }

    def describe(self) -> DeviceDescription:
        """Its shape and capabilities, without packs."""
        rows, spec = self.rows, self._spec
        return DeviceDescription(
            device_id=spec.id,
            kind="receiver",
            form=spec.form,
            simulated=True,
            read_only=False,
            carriers=tuple(CarrierDescription(row.carrier, row.branches, (row.channel,), spec.analog) for row in rows),
            channels=tuple(ChannelDescription(row.channel, row.carrier, row.pack) for row in rows),
            capabilities=(*receiver_capabilities(rows), *extra_capabilities(rows)),
        )

    def applied(self, address: str) -> None:
        """Something was set otherwise: feeds follow; at all else the world looks by itself.

        An antenna input is one socket, whichever carrier it is looked at from.
        """
        if "/branch/" not in address:
            return
        label = address.rpartition("/")[2]
        for row in self.rows:
            for other in row.branches:
                if other != address and other.endswith(f"/branch/{label}"):
                    self.settings[other].update(self.settings[address])
        if label in self._fed:
            self._fed[label].powered = bool(self.settings[address]["feed_powered"])

    def hindrance(self, address: str, changes: Mapping[str, Value], field: str) -> str:
        """It takes everything that its capabilities allow."""
        del address, changes, field
        return ""

    def layout(self) -> list[LayoutEntry]:
        """The order of its readings, row by row: branches, carrier, channel."""
        analog = self._spec.analog
        layout: list[LayoutEntry] = []
        for row in self.rows:
            for label, branch in zip(self._spec.antennas, row.branches, strict=True):
                layout.append(LayoutEntry(branch, [*_BRANCH, *_FEED] if label in self._fed else _BRANCH))
            layout.append(LayoutEntry(row.carrier, _CARRIER if analog else [*_CARRIER, "link_quality"]))
            layout.append(LayoutEntry(row.channel, _ANALOG_CHANNEL if analog else _CHANNEL))
        return layout

    def readings(self, since_block: int) -> list[Reading]:
        """Their values for all blocks after that one."""
        meters = self._world.meters(since_block)
        return [value for row in self.rows for value in self._values(meters, row)]

    def exact(self) -> Exact:
        """Which pack is heard, and with which key."""
        world = self._world
        exact: Exact = {}
        for row in self.rows:
            heard = world.blocks[-1].radio.heard[row.index] if world.blocks else NOBODY
            identity = {"identity": None if heard == NOBODY else world.seats[heard].address}
            key = {} if self._spec.analog else {"key_fingerprint": world.fronts[row.index].key or None}
            exact[row.channel] = {**identity, **key}
        return exact

    def _values(self, meters: Meters, row: Row) -> list[Reading]:
        index = row.index
        values: list[Reading] = []
        for branch, label in enumerate(self._spec.antennas):
            values += [meters.rf_dbm[index][branch], meters.rf_min_dbm[index][branch], meters.rf_max_dbm[index][branch]]
            values += [meters.floor_dbm[index][branch], 0.0, _MEASURED, meters.overload[index][branch]]
            if label in self._fed:
                values += [self._fed[label].current_ma, self._fed[label].is_faulty]
        values.append(meters.foreign[index] or meters.heard[index] not in {row.pack_seat, NOBODY})
        sound: list[Reading] = [
            meters.peak_dbfs[index],
            meters.rms_dbfs[index],
            meters.damage[index],
            meters.state[index],
        ]
        if self._spec.analog:
            return [*values, *sound, meters.peak_dbu[index], meters.rms_dbu[index], meters.deviation_hz[index]]
        return [*values, meters.link_quality[index], *sound]
