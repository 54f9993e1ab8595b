"""A healthy evening written by hand, without any world: its numbers are the baseline of the trade (common practice)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import branch_address, carrier_address, channel_address, pack_address
from fleet.model.fields import AUDIO_STATES, Value
from tests.situations.recording import FRAME_S, Channel, Lines, Plan, Recording

ONSET_S = 20.0
EVERY_S = 24.0
RACKS = {"house-split": "House rack", "house-1": "House rack", "house-2": "House rack", "quay-1": "Quay rack"}
FEEDS = {"House left": "house-split", "House right": "house-split", "Quay north": "", "Quay south": ""}
# By device and number: the part, the frequency, the lines. The product of the second and third is on the first.
PARTS = {
    ("house-1", 1): ("Keeper", 518_100_000, (0.0, 6.0)),
    ("house-1", 2): ("Ferryman", 518_900_000, (8.0, 14.0)),
    ("house-2", 1): ("Pilot", 519_700_000, (16.0, 22.0)),
    ("quay-1", 1): ("Fiddler", 610_100_000, (4.0, 10.0)),  # Analog: no link quality.
}
Series = float | NDArray[np.float64]


def channel(device: str, number: int) -> Channel:
    """A channel with two branches."""
    carrier = carrier_address(device, number)
    branches = tuple(branch_address(carrier, label) for label in "ab")
    return Channel(channel_address(device, number), carrier, branches, device, pack_address(f"{device}-{number}"))


KEEPER, FERRYMAN, PILOT, FIDDLER = (channel(*place) for place in PARTS)


def evening(seconds: float = 60.0) -> Recording:
    """An evening on which nothing is wrong."""
    made = Recording(round(seconds / FRAME_S) + 1, _plan(), (KEEPER, FERRYMAN, PILOT, FIDDLER), {})
    for device in RACKS:
        _fill(made, device, {"temperature_c": 30.0, "supply_ok": 1.0})
        _fill(made, device, {"slip_count": 0.0, "clock_error_ppm": 0.0, "clock_locked": 1.0})
    for label in "ab":
        _fill(made, f"house-split/input/{label}", {"feed_ma": 35.0})
    rng = np.random.default_rng(7)
    for each, (part, frequency_hz, lines) in zip(made.channels, PARTS.values(), strict=True):
        _add_channel(made, each, rng, lines)
        settings: dict[str, Value] = {"frequency_hz": frequency_hz, "squelch_dbm": -95}
        made.settings[each.address, "name"].append((0.0, part))
        for name, value in settings.items():
            made.settings[each.carrier, name].append((0.0, value))
        made.settings[each.pack, "phantom"].append((0.0, "48 V"))
        made.exact[each.address, "identity"].append((0.0, each.pack))
        made.exact[each.pack, "reported_frequency_hz"].append((0.0, frequency_hz))
        for end in (each.address, each.pack):
            made.exact[end, "key_fingerprint"].append((0.0, f"key of {part}"))
    return made


def times_s(made: Recording) -> NDArray[np.float64]:
    """The time of each frame."""
    return np.asarray(np.arange(made.frames) * FRAME_S, dtype=np.float64)


def put(made: Recording, address: str, name: str, value: Series, from_s: float = ONSET_S) -> None:
    """Another value of one reading from then on: a number, or one for every frame of the evening."""
    later = times_s(made) >= from_s
    made.readings[address, name] = np.where(later, value, made.readings[address, name])


def level(made: Recording, branch: str, level_dbm: Series, spread_db: float = 5.0) -> None:
    """Another level at a branch, with so much between the least and the most within a frame."""
    put(made, branch, "rf_dbm", level_dbm)
    put(made, branch, "rf_min_dbm", level_dbm - 0.6 * spread_db)
    put(made, branch, "rf_max_dbm", level_dbm + 0.4 * spread_db)


def vanish(made: Recording, each: Channel) -> None:
    """Its carrier isn't there any more: what the branches read is the floor."""
    for branch in each.branches:
        level(made, branch, -104.0)
    put(made, each.carrier, "link_quality", 0.0)
    put(made, each.address, "audio_state", float(AUDIO_STATES.index("no_link")))


def silence(made: Recording, device: str, from_s: float, until_s: float = np.inf) -> None:
    """Nothing is heard from a device for a while."""
    times = times_s(made)
    own = [key for key in made.readings if key[0] == device or key[0].startswith(f"{device}/")]
    own += [key for key in made.readings for each in made.channels if each.device == device and key[0] == each.pack]
    for key in own:
        made.readings[key][(times >= from_s) & (times < until_s)] = np.nan


def _fill(made: Recording, address: str, values: dict[str, Series]) -> None:
    for name, value in values.items():
        made.readings[address, name] = np.zeros(made.frames) + value


def _add_channel(made: Recording, each: Channel, rng: np.random.Generator, lines: tuple[float, float]) -> None:
    for branch in each.branches:
        flutter = -55.0 + rng.uniform(-4.0, 4.0, made.frames)
        near: dict[str, Series] = {"rf_dbm": flutter, "rf_min_dbm": flutter - 3.0, "rf_max_dbm": flutter + 2.0}
        _fill(made, branch, {**near, "floor_dbm": -105.0, "overload": 0.0})
    _fill(made, each.carrier, {"link_quality": np.nan if each.device == "quay-1" else 1.0, "foreign": 0.0})
    within = times_s(made) % EVERY_S
    speaking = (within >= lines[0]) & (within <= lines[1])
    peak = np.where(speaking, rng.uniform(-25.0, -15.0, made.frames), -70.0)
    _fill(made, each.address, {"peak_dbfs": peak, "rms_dbfs": peak - 12.0, "audio_state": 0.0})
    _fill(made, each.pack, {"battery_v": 3.9, "battery_fraction": 0.8, "goodbye": 0.0, "input_overload": 0.0})


def _plan() -> Plan:
    sides = {"house": ("House left", "House right"), "quay": ("Quay north", "Quay south")}
    antenna = {
        branch: path
        for place in PARTS
        for branch, path in zip(channel(*place).branches, sides[place[0].split("-")[0]], strict=True)
    }
    lines: dict[str, Lines] = {part: (when,) for part, _, when in PARTS.values()}
    return Plan(lines=lines, every_s=EVERY_S, sleeps=(), antenna=antenna, behind=dict(FEEDS), rack=dict(RACKS))
