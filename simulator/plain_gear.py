"""Devices that have no parts of their own: an access point, which is a way to packs, and a scanner, which is an act."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.model.capability import Capability, Held
from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from fleet.protocol.messages import LayoutEntry
from simulator.capabilities import TEXT
from simulator.gear import Exact, Reading
from simulator.own_settings import Places, own_capabilities, own_settings
from simulator.scenario_gear import Gear


class PlainGear:
    """A device with settings at most; its kind is a word."""

    def __init__(self, spec: Gear, kind: str) -> None:
        self._spec = spec
        self._kind = kind
        self._places: Places = {"device": (spec.id,)}
        self.settings = own_settings(spec, self._places)

    def describe(self) -> DeviceDescription:
        """Its shape and capabilities, without packs."""
        return DeviceDescription(
            device_id=self._spec.id,
            kind=self._kind,
            form=self._spec.form,
            simulated=True,
            read_only=self._spec.read_only,
            capabilities=(
                *own_capabilities(self._spec.extra, self._places),
                Capability((self._spec.id,), "name", TEXT, Held.RECEIVER),
            ),
        )

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
        """It measures nothing."""
        return []

    def readings(self, since_block: int) -> list[Reading]:
        """It measures nothing."""
        del since_block
        return []

    def exact(self) -> Exact:
        """It has none."""
        return {}
