"""A rack of receivers as the console would know it, every fact of it to be changed by a test."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from fleet.model.capability import Capability, Held, SchemaType, ValueSchema
from fleet.model.device import (
    CarrierDescription,
    ChannelDescription,
    ContactState,
    ContactStatus,
    DeviceDescription,
    DeviceView,
)
from fleet.model.fields import Value
from fleet.model.plan import Plan, PlanCarrier
from fleet.model.quality import Quality
from fleet.model.retune import RetunePreview
from fleet.model.settings import Desired, SettingsView
from fleet.planning.retuning.preview import Around, Asked, preview
from fleet.planning.retuning.rig import Rig, Seen

MHZ = 1_000_000
TUNING = ValueSchema(SchemaType.INTEGER, 500 * MHZ, 600 * MHZ, 25_000)
FLAG = ValueSchema(SchemaType.BOOLEAN)


@dataclass
class Rack:
    """Receivers ``r1``, ``r2`` … of one channel each, with a pack of the same number, at 510, 511 … MHz."""

    count: int = 3
    fields: dict[str, dict[str, Capability]] = field(default_factory=dict)
    reported: dict[str, dict[str, Value]] = field(default_factory=dict)
    views: dict[str, DeviceView] = field(default_factory=dict)
    desired: dict[str, Desired] = field(default_factory=dict)
    readings: dict[tuple[str, str], float] = field(default_factory=dict)
    zones: dict[str, str] = field(default_factory=dict)
    identities: dict[str, str] = field(default_factory=dict)
    blurred: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        for number in range(1, self.count + 1):
            self.add(f"r{number}", f"pack/{number}", (509 + number) * MHZ)

    def add(self, device_id: str, pack: str | None, hz: int) -> None:
        """One more receiver of one channel; a pack that another one controls is only linked."""
        carrier, channel = f"{device_id}/carrier/1", f"{device_id}/channel/1"
        controlled = pack is not None and pack not in self.reported
        self.fields[carrier] = {
            "frequency_hz": Capability((carrier,), "frequency_hz", TUNING, Held.RECEIVER, mutes=True)
        }
        self.reported[carrier] = {"frequency_hz": hz}
        if pack is not None and controlled:
            tuned = Capability((pack,), "frequency_hz", TUNING, Held.PACK, mutes=True, needs_awake=True)
            self.fields[pack] = {"frequency_hz": tuned, "standby": Capability((pack,), "standby", FLAG, Held.PACK)}
            self.reported[pack] = {"frequency_hz": hz, "standby": False}
        description = DeviceDescription(
            device_id,
            "receiver",
            "rack",
            simulated=True,
            read_only=False,
            carriers=(CarrierDescription(carrier, (), (channel,)),),
            channels=(ChannelDescription(channel, carrier, pack),),
            packs=(pack,) if pack is not None and controlled else (),
        )
        self.views[device_id] = DeviceView(device_id, ContactStatus(device_id, ContactState.FRESH, 1), description)
        self.zones[channel] = "House"

    def change(self, address: str, name: str, **changes: Any) -> None:
        """Change one capability."""
        self.fields[address][name] = replace(self.fields[address][name], **changes)

    def rig(self) -> Rig:
        described = {device_id: self._described(view) for device_id, view in self.views.items()}
        settings: Mapping[str, SettingsView] = {
            address: self._settings(address, described) for address in self.reported if address in self.fields
        }
        readings = self.readings
        seen = Seen(tuple(described.values()), settings.get, lambda address, name: readings.get((address, name)), {})
        return Rig(seen)

    def preview(self, wanted: Mapping[str, int], *, may_sleep: bool = False, **request: Any) -> RetunePreview:
        """What a plan with those channels there would do; channels go by their receivers' names."""
        zones = dict.fromkeys(self.zones.get(f"{name}/channel/1", "House") for name in wanted)
        groups = [{"name": zone, "zone": zone, "profile": "digital", "count": len(wanted)} for zone in zones]
        whole = {
            "raster_hz": 25_000,
            "window": [{"start_hz": 505 * MHZ, "stop_hz": 520 * MHZ}],
            "profile": [{"name": "digital", "spacing_hz": 400_000}],
            "group": groups,
            **request,
        }
        plan = Plan("Tonight", whole, tuple(self._carrier(name, hz) for name, hz in wanted.items()))
        around = Around(self.zones, self.identities, show_live=False)
        return preview(Asked("tonight", plan, 1, may_sleep), self.rig(), around)

    def _carrier(self, name: str, hz: int) -> PlanCarrier:
        channel = f"{name}/channel/1"
        zone = self.zones.get(channel, "House")
        return PlanCarrier(zone, zone, hz, channel=channel)

    def _described(self, view: DeviceView) -> DeviceView:
        assert view.description is not None
        own = [view.description.carriers[0].address, *view.description.packs]
        found = tuple(each for address in own for each in self.fields[address].values())
        return replace(view, description=replace(view.description, capabilities=found))

    def _settings(self, address: str, described: Mapping[str, DeviceView]) -> SettingsView:
        holder = next(view for view in described.values() if self._holds(view, address))
        assert holder.description is not None
        in_force = {
            each.field: number for number, each in enumerate(holder.description.capabilities) if address in each.targets
        }
        desired = (self.desired[address],) if address in self.desired else ()
        quality = Quality.UNCERTAIN if address in self.blurred else Quality.GOOD
        return SettingsView(address, "b.1", holder.device_id, quality, self.reported[address], desired, in_force)

    def _holds(self, view: DeviceView, address: str) -> bool:
        assert view.description is not None
        return address in {view.description.carriers[0].address, *view.description.packs}
