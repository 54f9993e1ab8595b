"""An in-ear transmitter: a carrier that radiates into somebody's ear, so everything about it is guarded."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.model.address import carrier_address, channel_address
from fleet.model.capability import Capability, Held, SchemaType, ValueSchema
from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription
from fleet.model.fields import AUDIO_STATES, Value
from fleet.physics.decibels import HALF_WAVE_DIPOLE_DBI
from fleet.physics.levels import DIGITAL_SILENCE_DBFS
from fleet.protocol.messages import LayoutEntry
from simulator.capabilities import FLAG, TEXT, TRIM, frequencies
from simulator.gear import Exact, Reading
from simulator.luck import Wander
from simulator.own_settings import Places, own_capabilities, own_settings
from simulator.scenario import Stranger, Tuning
from simulator.scenario_gear import InEar
from simulator.world import World

# Assumption: the programme that arrives at its inputs, steady but for a little.
PROGRAMME_RMS_DBFS = -24.0
PROGRAMME_CREST_DB = 10.0
_SPREAD_DB = 1.5
_CHANNEL = ["peak_dbfs", "rms_dbfs", "audio_state"]
_OPEN, _MUTED = AUDIO_STATES.index("open"), AUDIO_STATES.index("muted")


class InEarGear:
    """One in-ear transmitter. To receivers it is a stranger on the air, standing at its antenna."""

    def __init__(self, world: World, spec: InEar) -> None:
        self._world = world
        self._spec = spec
        self._carrier = carrier_address(spec.id, 1)
        self._channels = tuple(channel_address(spec.id, number) for number in range(1, len(spec.channels) + 1))
        self._wander = Wander(world.luck.generator(f"programme of {spec.id}"))
        self._places: Places = {"device": (spec.id,), "carrier": (self._carrier,), "channel": self._channels}
        self.settings = own_settings(spec, self._places)
        carrier: dict[str, Value] = {
            "frequency_hz": spec.frequency_hz,
            "rf_power_mw": spec.power_steps_mw[0],
            "rf_on": False,  # It starts with everything down.
            "encryption": True,
        }
        self.settings.setdefault(self._carrier, {}).update(carrier)
        for address, name in zip(self._channels, spec.channels, strict=True):
            self.settings.setdefault(address, {}).update({"name": name, "trim_db": 0.0, "muted": True})

    def describe(self) -> DeviceDescription:
        """Its shape and capabilities: all but names are guarded."""
        spec, carrier = self._spec, (self._carrier,)
        powers = ValueSchema(SchemaType.NUMBER, enum=spec.power_steps_mw)
        return DeviceDescription(
            device_id=spec.id,
            kind="in-ear transmitter",
            form=spec.form,
            simulated=True,
            read_only=spec.read_only,
            carriers=(CarrierDescription(self._carrier, (), self._channels),),
            channels=tuple(ChannelDescription(address, self._carrier) for address in self._channels),
            capabilities=(
                *own_capabilities(spec.extra, self._places),
                Capability((spec.id,), "name", TEXT, Held.RECEIVER),
                _guarded(carrier, "frequency_hz", frequencies(Tuning()), "Hz"),
                _guarded(carrier, "rf_power_mw", powers, "mW"),
                _guarded(carrier, "rf_on", FLAG),
                _guarded(carrier, "encryption", FLAG),
                Capability(self._channels, "name", TEXT, Held.RECEIVER),
                _guarded(self._channels, "trim_db", TRIM, "dB"),
                _guarded(self._channels, "muted", FLAG),
            ),
        )

    def applied(self, address: str) -> None:
        """Its carrier comes on the air, goes, or moves."""
        if address != self._carrier:
            return
        own = self.settings[self._carrier]
        name = self._spec.id
        self._world.loads.strangers.pop(name, None)
        if own["rf_on"]:
            place = next(each.position_m for each in self._world.scenario.antenna if each.name == self._spec.antenna)
            beyond_db = HALF_WAVE_DIPOLE_DBI if own.get("power_reference") == "eirp" else 0.0
            erp_mw = float(own["rf_power_mw"]) * 10.0 ** (-beyond_db / 10.0)
            stranger = Stranger(name, int(own["frequency_hz"]), place, erp_mw)
            self._world.loads.strangers[name] = stranger

    def hindrance(self, address: str, changes: Mapping[str, Value], field: str) -> str:
        """It takes all that its capabilities allow."""
        del address, changes, field
        return ""

    def plug(self, module: str) -> bool:
        """It has no modules."""
        del module
        return False

    def layout(self) -> list[LayoutEntry]:
        """The order of its readings, channel by channel."""
        return [LayoutEntry(address, _CHANNEL) for address in self._channels]

    def readings(self, since_block: int) -> list[Reading]:
        """What it sends."""
        del since_block
        return [value for which in range(len(self._channels)) for value in self._of(which)]

    def _of(self, which: int) -> list[Reading]:
        own = self.settings[self._channels[which]]
        drawn_db = _SPREAD_DB * self._wander.at(self._world.blocks_done, which)
        if own["muted"]:
            return [DIGITAL_SILENCE_DBFS, DIGITAL_SILENCE_DBFS, _MUTED]
        rms_dbfs = PROGRAMME_RMS_DBFS + float(own["trim_db"]) + drawn_db
        return [round(min(0.0, rms_dbfs + PROGRAMME_CREST_DB), 1), round(rms_dbfs, 1), _OPEN]

    def exact(self) -> Exact:
        """It has none."""
        return {}


def _guarded(targets: tuple[str, ...], field: str, schema: ValueSchema, unit: str = "") -> Capability:
    return Capability(targets, field, schema, Held.RECEIVER, unit=unit, mutes=True, guarded=True)
