"""A charger: its bays, the cells in them, and how they fill."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.model.address import bay_address, pack_address
from fleet.model.capability import Capability, Held
from fleet.model.device import DeviceDescription
from fleet.model.fields import CHARGE_STATES, Value
from fleet.protocol.messages import LayoutEntry
from simulator.capabilities import TEXT
from simulator.gear import Exact, Reading
from simulator.own_settings import Places, own_capabilities, own_settings
from simulator.scenario_gear import Bay, Charger
from simulator.world import BLOCK_S, World

# Common practice: cells are never charged hot.
HOT_C = 45.0
_BAY = ["charge_state", "battery_fraction", "minutes_to_full", "health_fraction", "charge_cycles", "temperature_c"]
_MINUTE_S = 60.0


@dataclass(slots=True)
class Place:
    """One bay and what sits in it since a block of the world's time; ``held`` is None while it is empty."""

    held: Bay | None
    since_block: int = 0

    def charge(self, blocks: int, full_minutes: float) -> float:
        """What is in the cells now: a constant current fills them, an assumption that leaves out the slow end."""
        if self.held is None:
            return 0.0
        minutes = (blocks - self.since_block) * BLOCK_S / _MINUTE_S
        risen = minutes / full_minutes if self._charges else 0.0
        return min(1.0, self.held.charge + risen)

    def state(self, charge: float) -> str:
        """What the bay does, in the catalogue's words."""
        if self.held is None:
            return "empty"
        if self.held.damaged:
            return "fault"
        if self.held.temperature_c > HOT_C:
            return "too hot"
        return "full" if charge >= 1.0 else "charging"

    @property
    def _charges(self) -> bool:
        return self.held is not None and not self.held.damaged and self.held.temperature_c <= HOT_C


class ChargerGear:
    """One charger."""

    def __init__(self, world: World, spec: Charger) -> None:
        self._world = world
        self._spec = spec
        self.places = {
            bay_address(spec.id, number): Place(bay if bay.pack else None)
            for number, bay in enumerate(spec.bays, start=1)
        }
        self._own: Places = {"device": (spec.id,)}
        self.settings = own_settings(spec, self._own)

    def describe(self) -> DeviceDescription:
        """Its shape and capabilities."""
        return DeviceDescription(
            device_id=self._spec.id,
            kind="charger",
            form=self._spec.form,
            simulated=True,
            read_only=self._spec.read_only,
            bays=tuple(self.places),
            capabilities=(
                *own_capabilities(self._spec.extra, self._own),
                Capability((self._spec.id,), "name", TEXT, Held.RECEIVER),
            ),
        )

    def put(self, address: str, bay: Bay | None) -> None:
        """Put a pack into a bay, or take one out."""
        self.places[address] = Place(bay, self._world.blocks_done)

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
        """The order of its readings, bay by bay."""
        return [LayoutEntry(address, _BAY) for address in self.places]

    def readings(self, since_block: int) -> list[Reading]:
        """Their values; of an empty bay nothing but that."""
        del since_block
        return [value for place in self.places.values() for value in self._of(place)]

    def _of(self, place: Place) -> list[Reading]:
        charge = place.charge(self._world.blocks_done, self._spec.full_minutes)
        state = place.state(charge)
        if place.held is None:
            return [CHARGE_STATES.index(state), None, None, None, None, None]
        to_full = (1.0 - charge) * self._spec.full_minutes if state == "charging" else 0.0
        minutes = round(to_full, 1) if state in {"charging", "full"} else None
        held = place.held
        return [
            CHARGE_STATES.index(state),
            round(charge, 3),
            minutes,
            held.health,
            float(held.cycles),
            held.temperature_c,
        ]

    def exact(self) -> Exact:
        """Which pack sits where."""
        return {
            address: {"identity": None if place.held is None else pack_address(place.held.pack)}
            for address, place in self.places.items()
        }
