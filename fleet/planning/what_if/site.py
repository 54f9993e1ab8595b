"""What a forecast is made from: transmitters, antennas, occupied blocks, and what lies between zones."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from fleet.errors import InvalidDocument
from fleet.physics.decibels import HALF_WAVE_DIPOLE_DBI

Reference = Literal["erp", "eirp"]
Place = tuple[float, float]
Problem = tuple[str, str, object]
FILE = "what-if"
"""How documents that describe a site or a change are named where one of them is wrong."""
USUAL_BANDWIDTH_HZ = 200_000
TRANSMITTERS_MAXIMUM = 1_000
ANTENNAS_MAXIMUM = 32
BLOCKS_MAXIMUM = 100
ISOLATIONS_MAXIMUM = 1_000
FREQUENCY_MAXIMUM_HZ = 10_000_000_000
BANDWIDTH_MAXIMUM_HZ = 100_000_000
POWER_DBM, BODY_LOSS_DB, GAIN_DB, INTERCEPT_DBM, NOISE_DBM, LEVEL_DBM, ISOLATION_DB = (
    (-100.0, 100.0),
    (0.0, 200.0),
    (-200.0, 100.0),
    (-100.0, 100.0),
    (-200.0, 50.0),
    (-200.0, 50.0),
    (0.0, 300.0),
)
"""From where to where these are believed, in their units."""
PLACE_M = (-100_000.0, 100_000.0)
DISTANCE_M = (0.01, 100_000.0)


@dataclass(frozen=True, slots=True)
class Transmitter:
    """A pack, or whatever else radiates: its carrier, power, and place or distance.

    ``distance_m`` is that to the antennas of its own zone and serves where the place in metres isn't known; one of the
    two is given. ``body_loss_db`` is an assumption of whoever states it. ``steps_dbm`` are the powers that it can be
    set to, by the same ``reference``. One that isn't ``received`` only makes products, as an in-ear transmitter does.
    """

    frequency_hz: int
    group: str
    zone: str
    power_dbm: float
    reference: Reference = "erp"
    position_m: Place | None = None
    distance_m: float | None = None
    body_loss_db: float = 0.0
    steps_dbm: tuple[float, ...] = ()
    bandwidth_hz: int = USUAL_BANDWIDTH_HZ
    received: bool = True

    @property
    def eirp_dbm(self) -> float:
        """Radiated power over an isotropic radiator; e.r.p. counts over a dipole (Radio Regulations, article 1)."""
        return self.power_dbm + (HALF_WAVE_DIPOLE_DBI if self.reference == "erp" else 0.0)


@dataclass(frozen=True, slots=True)
class Antenna:
    """A receive antenna of a zone and the receivers behind it; their levels are those at the receivers' input.

    ``gain_db`` is that of antenna and booster less what feed and splitters lose, ``noise_dbm`` all noise in 200 kHz,
    ``intercept_dbm`` the third-order input intercept point.
    """

    name: str
    zone: str
    position_m: Place
    gain_db: float = 0.0
    intercept_dbm: float = -7.5  # Common practice.
    noise_dbm: float = -105.0  # Common practice for a quiet site.


@dataclass(frozen=True, slots=True)
class Block:
    """Occupied spectrum, such as a broadcaster's: ``level_dbm`` is all of its power as every antenna gets it."""

    start_hz: int
    stop_hz: int
    level_dbm: float
    words: str = ""


@dataclass(frozen=True, slots=True)
class Between:
    """How much weaker a carrier of one zone is at the other's antennas than at its own: measured. None is unheard."""

    zones: tuple[str, str]
    isolation_db: float | None = None


@dataclass(frozen=True, slots=True)
class Site:
    """All that radiates and all that receives."""

    transmitters: tuple[Transmitter, ...]
    antennas: tuple[Antenna, ...]
    blocks: tuple[Block, ...] = ()
    isolations: tuple[Between, ...] = ()

    def between(self, zone: str, other: str) -> Between | None:
        """What was measured between two zones, if anything was."""
        return next((each for each in self.isolations if set(each.zones) == {zone, other}), None)


def checked(site: Site) -> Site:
    """The site itself.

    Raises InvalidDocument for the first thing in it that can't be, with its key.
    """
    for key, expected, found in _problems(site):
        raise InvalidDocument(FILE, key, expected, found)
    return site


def _problems(site: Site) -> Iterator[Problem]:
    yield from _too_many(site)
    served = {antenna.zone for antenna in site.antennas}
    seen: set[tuple[str, int]] = set()
    for index, each in enumerate(site.transmitters):
        key = f"transmitters[{index}]"
        yield from _transmitter_problems(each, key)
        if each.received and each.zone not in served:
            yield "antennas", "at least one in every zone whose carriers are received", f"none in {each.zone}"
        if (each.group, each.frequency_hz) in seen:
            yield f"{key}.frequency_hz", f"each frequency of group {each.group} once", each.frequency_hz
        seen.add((each.group, each.frequency_hz))
    names = [antenna.name for antenna in site.antennas]
    for index, antenna in enumerate(site.antennas):
        if antenna.name in names[:index]:
            yield f"antennas[{index}].name", "a name that no other antenna has", antenna.name
        yield from _antenna_problems(antenna, f"antennas[{index}]")
    for index, block in enumerate(site.blocks):
        if not 0 < block.start_hz < block.stop_hz:
            yield f"blocks[{index}].stop_hz", f"above start_hz, which is {block.start_hz}", block.stop_hz
        yield from _outside(f"blocks[{index}].level_dbm", block.level_dbm, LEVEL_DBM)
    for index, between in enumerate(site.isolations):
        yield from _outside(f"isolations[{index}].isolation_db", between.isolation_db, ISOLATION_DB)


def _too_many(site: Site) -> Iterator[Problem]:
    bounds = {
        "transmitters": (len(site.transmitters), TRANSMITTERS_MAXIMUM),
        "antennas": (len(site.antennas), ANTENNAS_MAXIMUM),
        "blocks": (len(site.blocks), BLOCKS_MAXIMUM),
        "isolations": (len(site.isolations), ISOLATIONS_MAXIMUM),
    }
    for key, (found, most) in bounds.items():
        if found > most:
            yield key, f"at most {most}", found


def _transmitter_problems(each: Transmitter, key: str) -> Iterator[Problem]:
    yield from _outside(f"{key}.frequency_hz", each.frequency_hz, (1, FREQUENCY_MAXIMUM_HZ))
    yield from _outside(f"{key}.bandwidth_hz", each.bandwidth_hz, (1, BANDWIDTH_MAXIMUM_HZ))
    if (each.position_m is None) == (each.distance_m is None):
        yield f"{key}.position_m", "either position_m or distance_m", each.position_m
    for along_m in each.position_m or ():
        yield from _outside(f"{key}.position_m", along_m, PLACE_M)
    yield from _outside(f"{key}.distance_m", each.distance_m, DISTANCE_M)
    yield from _outside(f"{key}.power_dbm", each.power_dbm, POWER_DBM)
    yield from _outside(f"{key}.body_loss_db", each.body_loss_db, BODY_LOSS_DB)
    for step_dbm in each.steps_dbm:
        yield from _outside(f"{key}.steps_dbm", step_dbm, POWER_DBM)


def _antenna_problems(each: Antenna, key: str) -> Iterator[Problem]:
    for along_m in each.position_m:
        yield from _outside(f"{key}.position_m", along_m, PLACE_M)
    yield from _outside(f"{key}.gain_db", each.gain_db, GAIN_DB)
    yield from _outside(f"{key}.intercept_dbm", each.intercept_dbm, INTERCEPT_DBM)
    yield from _outside(f"{key}.noise_dbm", each.noise_dbm, NOISE_DBM)


def _outside(key: str, found: float | None, bounds: tuple[float, float]) -> Iterator[Problem]:
    """A number that isn't within its bounds, or is none at all; what is left out is right."""
    least, most = bounds
    if found is not None and not least <= found <= most:
        yield key, f"from {least:g} to {most:g}", found
