"""A device of a kind that nobody has heard of: settings and readings that no catalogue knows."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from fleet.protocol.messages import LayoutEntry
from simulator.gear import Exact, Reading
from simulator.luck import Wander
from simulator.plain_gear import PlainGear
from simulator.scenario_gear import Thing
from simulator.world import World


class ThingGear:
    """One such device: what it can be set to is plain, what it reads is spread about a value by luck."""

    def __init__(self, world: World, spec: Thing) -> None:
        self._plain = PlainGear(spec, spec.kind)
        self._spec = spec
        self._world = world
        self._wander = Wander(world.luck.generator(f"readings of {spec.id}"))
        self.settings = self._plain.settings

    def describe(self) -> DeviceDescription:
        """Its shape and capabilities."""
        return self._plain.describe()

    def applied(self, address: str) -> None:
        """Nothing else follows from its settings."""
        del address

    def hindrance(self, address: str, changes: Mapping[str, Value], field: str) -> str:
        """It takes all that its capabilities allow."""
        del address, changes, field
        return ""

    def plug(self, module: str) -> bool:
        """It has no modules."""
        del module
        return False

    def layout(self) -> list[LayoutEntry]:
        """The order of its readings."""
        return [LayoutEntry(self._spec.id, [each.field for each in self._spec.reading])] if self._spec.reading else []

    def readings(self, since_block: int) -> list[Reading]:
        """Their values."""
        del since_block
        block = self._world.blocks_done
        return [
            round(each.value + each.spread * self._wander.at(block, which), 2)
            for which, each in enumerate(self._spec.reading)
        ]

    def exact(self) -> Exact:
        """It has none."""
        return {}
