"""Packs: what is set on them, their cells, their sleep, and what they say of themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.model.fields import GOODBYES, SWITCH_STATES, Value
from fleet.physics.decibels import HALF_WAVE_DIPOLE_DBI, eirp_dbm_from_erp_mw
from fleet.physics.discharge import CHEMISTRIES, Chemistry, loaded_v, remaining_by_voltage, run_time_h
from simulator.luck import Luck
from simulator.scenario import Channel

# Assumptions about a pack's appetite, chosen so that 50 mW costs a quarter of the run time and sleep saves five sixths.
AWAKE_W = 0.33
ASLEEP_W = 0.06
AMPLIFIER_EFFICIENCY = 0.35
CAPACITY_SPREAD = 0.06
RESISTANCE_SPREAD = 0.15
# What a worn-out set of rechargeable cells has lost of its capacity, and gained of resistance.
RECHARGEABLE = frozenset({"li-ion", "nimh"})
AGE_TAKES = 0.15
AGE_ADDS = 0.4
# How finely a pack reports.
VOLTAGE_STEP_V = 0.01
FRACTION_STEP = 0.05
MINUTES_STEP = 5.0
_SECONDS_PER_HOUR = 3600.0
_MINUTES_PER_HOUR = 60.0
_LEAST_SPREAD = 0.5
_NOTHING: Mapping[str, Value] = {}


@dataclass(frozen=True, slots=True)
class PackReport:
    """What a pack says of itself over its carrier or return link, in its own coarse steps."""

    battery_v: float
    battery_fraction: float
    battery_minutes: float
    switch: int
    asleep: bool
    frequency_hz: int
    goodbye: int
    key: str


class Cells:
    """A set of cells, differing from its like by luck: in capacity, resistance and age."""

    def __init__(self, chemistry: Chemistry, charge: float, luck: Luck, name: str) -> None:
        draws = luck.generator(f"cells of {name}").standard_normal(2)
        age = float(luck.generator(f"age of the cells of {name}").uniform()) if chemistry.name in RECHARGEABLE else 0.0
        capacity = max(_LEAST_SPREAD, 1.0 + CAPACITY_SPREAD * float(draws[0])) * (1.0 - AGE_TAKES * age)
        resistance = max(_LEAST_SPREAD, 1.0 + RESISTANCE_SPREAD * float(draws[1])) * (1.0 + AGE_ADDS * age)
        self.chemistry = chemistry
        self.capacity_wh = chemistry.energy_wh * capacity
        self.resistance_ohm = chemistry.resistance_ohm * resistance
        self.left_wh = self.capacity_wh * charge

    @property
    def remaining(self) -> float:
        """What is left of their energy, 0 to 1."""
        return self.left_wh / self.capacity_wh

    def drain(self, power_w: float, seconds: float) -> None:
        """Take energy out, down to nothing."""
        self.left_wh = max(0.0, self.left_wh - power_w * seconds / _SECONDS_PER_HOUR)

    def voltage_v(self, power_w: float) -> float:
        """Voltage under that load."""
        return loaded_v(self.chemistry, self.remaining, self.resistance_ohm, power_w)


class Pack:
    """A transmitter on a performer.

    ``key`` is the fingerprint of its key, empty without one. It reckons what is left of its cells by the type that is
    set, whatever cells it really has.
    """

    def __init__(
        self, channel: Channel, luck: Luck, extras: Mapping[str, Value] = _NOTHING, *, keyed: bool = True
    ) -> None:
        self.name = channel.pack
        self.key = luck.word(f"key of {channel.pack}") if keyed else ""
        self._luck = luck
        self.cells = Cells(CHEMISTRIES[channel.cells], channel.charge, luck, channel.pack)
        self.settings: dict[str, Value] = {
            "name": channel.part,
            "frequency_hz": channel.frequency_hz,
            "input_trim_db": 0.0,
            "low_cut_hz": channel.low_cut_hz,
            "rf_power_mw": channel.rf_power_mw,
            "standby": False,
            "muted": False,
            "cell_type": channel.cells,
            **extras,
        }
        self._sets = 1
        self.dead = False
        self._check_cells()

    @property
    def asleep(self) -> bool:
        """Whether it sleeps: no carrier, hardly any current, the return link listening now and then."""
        return bool(self.settings["standby"])

    @property
    def radiating(self) -> bool:
        """Whether its carrier is on the air."""
        return not (self.dead or self.asleep) and bool(self.settings.get("rf_on", True))

    @property
    def power_w(self) -> float:
        """What it draws from its cells."""
        if self.dead:
            return 0.0
        if self.asleep:
            return ASLEEP_W
        if not self.settings.get("rf_on", True):
            return AWAKE_W
        return AWAKE_W + float(self.settings["rf_power_mw"]) / 1000.0 / AMPLIFIER_EFFICIENCY

    @property
    def eirp_dbm(self) -> float:
        """What it radiates above an isotropic radiator; conducted power is taken to leave by an antenna of 0 dBi."""
        erp_dbm = eirp_dbm_from_erp_mw(float(self.settings["rf_power_mw"]))
        return erp_dbm if self.settings.get("power_reference", "erp") == "erp" else erp_dbm - HALF_WAVE_DIPOLE_DBI

    def apply(self, changes: Mapping[str, Value]) -> None:
        """Take new settings; whoever sends them has checked them."""
        self.settings.update(changes)

    def live(self, seconds: float) -> bool:
        """Let time pass; whether the cells gave out in it."""
        if self.dead:
            return False
        self.cells.drain(self.power_w, seconds)
        self._check_cells()
        return self.dead

    def kill_cells(self) -> None:
        """Empty the cells at once."""
        self.cells.left_wh = 0.0
        self._check_cells()

    def put_cells(self, chemistry: str, charge: float) -> None:
        """Somebody puts other cells in; what type the pack believes in is another matter."""
        self._sets += 1
        self.cells = Cells(CHEMISTRIES[chemistry], charge, self._luck, f"{self.name}, set {self._sets}")
        self._check_cells()

    def _check_cells(self) -> None:
        self.dead = self.cells.voltage_v(self.power_w) < self.cells.chemistry.empty_v

    def report(self) -> PackReport:
        """What it says of itself now."""
        voltage_v = self.cells.voltage_v(self.power_w)
        believed = CHEMISTRIES[str(self.settings["cell_type"])]
        fraction = 0.0 if self.dead else remaining_by_voltage(believed, voltage_v)
        minutes = 0.0
        if not self.dead:
            hours = run_time_h(fraction * believed.energy_wh, self.power_w)
            minutes = _to_step(hours * _MINUTES_PER_HOUR, MINUTES_STEP)
        return PackReport(
            battery_v=_to_step(voltage_v, VOLTAGE_STEP_V),
            battery_fraction=_to_step(fraction, FRACTION_STEP),
            battery_minutes=minutes,
            switch=SWITCH_STATES.index("off" if self.dead else "muted" if self.settings["muted"] else "on"),
            asleep=self.asleep,
            frequency_hz=int(self.settings["frequency_hz"]),
            goodbye=GOODBYES.index("cells" if self.dead else "standby" if self.asleep else "none"),
            key=self.key,
        )


def _to_step(value: float, step: float) -> float:
    return round(round(value / step) * step, 3)
