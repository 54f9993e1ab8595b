"""An antenna distribution: the sockets of its antennas, whose boosters it powers."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.model.address import input_address
from fleet.model.capability import Capability, Held
from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from fleet.protocol.messages import LayoutEntry
from simulator.capabilities import ATTENUATION, FLAG, TEXT
from simulator.feeds import Feed
from simulator.gear import Exact, Reading
from simulator.own_settings import Places, own_capabilities, own_settings
from simulator.scenario_gear import Distribution
from simulator.world import World

_INPUT = ["feed_ma", "feed_fault"]


class DistributionGear:
    """One distribution. What is set at its inputs changes the way to all receivers behind it."""

    def __init__(self, world: World, spec: Distribution) -> None:
        self._spec = spec
        self._feeds: dict[str, Feed] = {
            input_address(spec.id, label): world.feeds.by_antenna[antenna] for label, antenna in spec.inputs.items()
        }
        self._places: Places = {"device": (spec.id,), "input": tuple(self._feeds)}
        self.settings = own_settings(spec, self._places)
        for address in self._feeds:
            self.settings.setdefault(address, {}).update({"feed_powered": True, "attenuation_db": 0.0})

    def describe(self) -> DeviceDescription:
        """Its shape and capabilities."""
        inputs = tuple(self._feeds)
        return DeviceDescription(
            device_id=self._spec.id,
            kind="distribution",
            form=self._spec.form,
            simulated=True,
            read_only=self._spec.read_only,
            inputs=inputs,
            capabilities=(
                *own_capabilities(self._spec.extra, self._places),
                Capability((self._spec.id,), "name", TEXT, Held.RECEIVER),
                Capability(inputs, "feed_powered", FLAG, Held.RECEIVER, mutes=True),
                Capability(inputs, "attenuation_db", ATTENUATION, Held.RECEIVER, unit="dB"),
            ),
        )

    def applied(self, address: str) -> None:
        """Something was set otherwise: the feeds follow."""
        feed = self._feeds.get(address)
        if feed is not None:
            own = self.settings[address]
            feed.powered = bool(own["feed_powered"])
            feed.gain_db = float(own.get("boost_db", 0.0)) - float(own["attenuation_db"])

    def hindrance(self, address: str, changes: Mapping[str, Value], field: str) -> str:
        """It takes all that its capabilities allow."""
        del address, changes, field
        return ""

    def plug(self, module: str) -> bool:
        """It has no modules."""
        del module
        return False

    def layout(self) -> list[LayoutEntry]:
        """The order of its readings, input by input."""
        return [LayoutEntry(address, _INPUT) for address in self._feeds]

    def readings(self, since_block: int) -> list[Reading]:
        """Their values."""
        del since_block
        return [value for feed in self._feeds.values() for value in (feed.current_ma, feed.is_faulty)]

    def exact(self) -> Exact:
        """It has none."""
        return {}
