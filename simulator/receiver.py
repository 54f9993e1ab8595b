"""A receiver: its carriers with their antenna inputs, its channels and its outputs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from fleet.model.address import output_address
from fleet.model.device import DeviceDescription
from fleet.model.fields import FLOOR_METHODS, Value
from fleet.protocol.messages import LayoutEntry
from simulator.gear import Exact, Reading
from simulator.meters import Meters
from simulator.own_settings import own_values
from simulator.receiver_description import describe_receiver
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
        self._rows = tuple(rows)
        self._world = world
        self._spec = rows[0].receiver
        self._carriers = _by_carrier(rows)
        self._outputs = dict(self._spec.outputs)
        self._told: list[tuple[int, str]] = []
        self._exact: Exact = {}
        self._fed = {label: world.feeds.by_antenna[self._spec.antennas[label]] for label in self._spec.feeds}
        self._feeds = tuple(self._fed.get(label) for label in self._spec.antennas)
        device = own_values(self._spec.extra, self._spec.id, "device")
        self.settings: dict[str, dict[str, Value]] = {
            self._spec.id: {"name": self._spec.name or self._spec.id, **device}
        }
        for row in rows:
            front = world.fronts[row.index]
            self.settings |= {row.carrier: front.carrier, row.channel: front.channel}
            self.settings |= {each: own for each, own in zip(row.branches, front.branches, strict=True) if own}
        self._add_outputs(self._outputs)

    def _add_outputs(self, outputs: Mapping[str, str]) -> None:
        for label in outputs:
            address = output_address(self._spec.id, label)
            own = own_values(self._spec.extra, address, "output")
            self.settings |= {address: own} if own else {}

    def plug(self, module: str) -> bool:
        """Plug a module in; whether there is one of that name that isn't in yet."""
        outputs = self._spec.modules.get(module, {})
        if not outputs or set(outputs) <= set(self._outputs):
            return False
        self._outputs |= outputs
        self._add_outputs(outputs)
        return True

    def describe(self) -> DeviceDescription:
        """Its shape and capabilities, without packs."""
        return describe_receiver(self._rows, self._outputs)

    def applied(self, address: str) -> None:
        """Something was set otherwise: feeds follow; at all else the world looks by itself.

        An antenna input is one socket, whichever carrier it is looked at from.
        """
        if "/branch/" not in address:
            return
        label = address.rpartition("/")[2]
        for row in self._rows:
            for other in row.branches:
                if other != address and other.endswith(f"/branch/{label}"):
                    self.settings[other].update(self.settings[address])
        if label in self._fed:
            self._fed[label].powered = bool(self.settings[address]["feed_powered"])

    def hindrance(self, address: str, changes: Mapping[str, Value], field: str) -> str:
        """One field of its outputs may be stubborn.

        It stands for all that real devices describe as writable and refuse all the same.
        """
        del changes
        if "/output/" in address and field == self._spec.stubborn:
            return "a link on its circuit board forbids it"
        return ""

    def layout(self) -> list[LayoutEntry]:
        """The order of its readings, carrier by carrier: branches, carrier, channels."""
        analog = self._spec.analog
        layout: list[LayoutEntry] = []
        for carrier, rows in self._carriers.items():
            for label, branch in zip(self._spec.antennas, rows[0].branches, strict=True):
                layout.append(LayoutEntry(branch, [*_BRANCH, *_FEED] if label in self._fed else _BRANCH))
            layout.append(LayoutEntry(carrier, _CARRIER if analog else [*_CARRIER, "link_quality"]))
            layout += [LayoutEntry(row.channel, _ANALOG_CHANNEL if analog else _CHANNEL) for row in rows]
        return layout

    def readings(self, since_block: int) -> list[Reading]:
        """Their values for all blocks after that one."""
        meters = self._world.meters(since_block)
        values: list[Reading] = []
        for rows in self._carriers.values():
            for branch, feed in enumerate(self._feeds):
                values += _levels(meters, rows[0].index, branch) if len(rows) == 1 else _shared(meters, rows, branch)
                if feed is not None:
                    values += (feed.current_ma, feed.is_faulty)
            values.append(any(_foreign(meters, row) for row in rows) if len(rows) > 1 else _foreign(meters, rows[0]))
            if not self._spec.analog:
                values.append(_mean([meters.link_quality[row.index] for row in rows]))
            for row in rows:
                values += self._sound(meters, row.index)
        return values

    def _sound(self, meters: Meters, row: int) -> tuple[Reading, ...]:
        sound = (meters.peak_dbfs[row], meters.rms_dbfs[row], meters.damage[row], meters.state[row])
        if self._spec.analog:
            return *sound, meters.peak_dbu[row], meters.rms_dbu[row], meters.deviation_hz[row]
        return sound

    def exact(self) -> Exact:
        """Which pack is heard, and with which key; made anew only when that changed."""
        everybody, fronts = self._world.heard, self._world.fronts
        told = [(everybody[row.index], fronts[row.index].key) for row in self._rows]
        if told != self._told:
            self._told, self._exact = told, {}
            for row, (heard, key) in zip(self._rows, told, strict=True):
                own = {"identity": None if heard == NOBODY else self._world.seats[heard].address}
                self._exact[row.channel] = {**own} if self._spec.analog else {**own, "key_fingerprint": key or None}
        return self._exact


def _by_carrier(rows: Sequence[Row]) -> dict[str, tuple[Row, ...]]:
    carriers = dict.fromkeys(row.carrier for row in rows)
    return {carrier: tuple(row for row in rows if row.carrier == carrier) for carrier in carriers}


def _levels(meters: Meters, row: int, branch: int) -> tuple[Reading, ...]:
    """The levels at one antenna input of a carrier."""
    return (
        meters.rf_dbm[row][branch],
        meters.rf_min_dbm[row][branch],
        meters.rf_max_dbm[row][branch],
        meters.floor_dbm[row][branch],
        0.0,
        _MEASURED,
        meters.overload[row][branch],
    )


def _shared(meters: Meters, rows: Sequence[Row], branch: int) -> tuple[Reading, ...]:
    """The levels at one antenna input of a wide carrier, whose packs take turns: their powers are averaged."""
    each = [_levels(meters, row.index, branch) for row in rows]
    power_mw = np.mean([10.0 ** (float(one[0] or 0.0) / 10.0) for one in each])
    least_dbm = min(meters.rf_min_dbm[row.index][branch] for row in rows)
    most_dbm = max(meters.rf_max_dbm[row.index][branch] for row in rows)
    overload = any(meters.overload[row.index][branch] for row in rows)
    return round(10.0 * float(np.log10(power_mw)), 1), least_dbm, most_dbm, *each[0][3:6], overload


def _foreign(meters: Meters, row: Row) -> bool:
    return meters.foreign[row.index] or meters.heard[row.index] not in {row.seat, NOBODY}


def _mean(values: Sequence[float]) -> float:
    return values[0] if len(values) == 1 else round(sum(values) / len(values), 3)
