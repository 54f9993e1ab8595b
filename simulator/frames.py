"""Readings frames: their layout, and the values in that order."""

from __future__ import annotations

from collections.abc import Sequence

from fleet.model.fields import FLOOR_METHODS
from fleet.model.quality import Quality
from fleet.protocol.messages import LayoutEntry
from simulator.meters import Meters
from simulator.return_link import ReturnLink
from simulator.rows import Row
from simulator.spectrum import NOBODY
from simulator.world import World

# What a pack said of itself is no longer good to act on when two of its reports are missing. How it took its leave is
# what the receiver knows, and stays good until the pack is heard again.
UNHEARD_US = 2_000_000
_MEASURED = FLOOR_METHODS.index("measured")
_BRANCH = ["rf_dbm", "rf_min_dbm", "rf_max_dbm", "floor_dbm", "floor_age_s", "floor_method"]
_CARRIER = ["foreign"]
_CHANNEL = ["peak_dbfs", "rms_dbfs", "audio_damage_fraction", "audio_state"]
_ANALOG_CHANNEL = [*_CHANNEL, "peak_dbu", "rms_dbu", "deviation_hz"]
_PACK_SAID = ["battery_v", "battery_fraction", "battery_minutes", "switch", "asleep"]
_PACK = [*_PACK_SAID, "goodbye", "return_link", "last_seen_s"]
Reading = float | bool | None
Exact = dict[str, dict[str, bool | int | float | str | None]]


def layout_of(rows: Sequence[Row]) -> list[LayoutEntry]:
    """The order of the values, row by row: branches, carrier, channel, pack."""
    layout: list[LayoutEntry] = []
    for row in rows:
        analog = row.receiver.analog
        layout += [LayoutEntry(branch, _BRANCH) for branch in row.branches]
        layout.append(LayoutEntry(row.carrier, _CARRIER if analog else [*_CARRIER, "link_quality"]))
        layout.append(LayoutEntry(row.channel, _ANALOG_CHANNEL if analog else _CHANNEL))
        layout.append(LayoutEntry(row.pack, _PACK))
    return layout


def frame_values(
    world: World, rows: Sequence[Row], since_block: int, now_us: int
) -> tuple[list[Reading], dict[int, int]]:
    """The values for all blocks after ``since_block``, and the qualities of those that aren't good, by index."""
    meters = world.meters(since_block)
    values: list[Reading] = []
    qualities: dict[int, int] = {}
    for row in rows:
        values += _radio_values(meters, row)
        link = world.links[row.index]
        if now_us - link.last_seen_us > UNHEARD_US:
            qualities |= dict.fromkeys(range(len(values), len(values) + len(_PACK_SAID)), int(Quality.UNCERTAIN))
        heard = meters.heard[row.index] == row.index
        values += _pack_values(link, 0 if heard else now_us - link.last_seen_us)
    return values, qualities


def _radio_values(meters: Meters, row: Row) -> list[Reading]:
    index = row.index
    values: list[Reading] = []
    for branch in range(len(row.branches)):
        values += [meters.rf_dbm[index][branch], meters.rf_min_dbm[index][branch], meters.rf_max_dbm[index][branch]]
        values += [meters.floor_dbm[index][branch], 0.0, _MEASURED]
    values.append(meters.heard[index] not in {index, NOBODY})
    sound: list[Reading] = [
        meters.peak_dbfs[index],
        meters.rms_dbfs[index],
        meters.damage[index],
        meters.state[index],
    ]
    if row.receiver.analog:
        return [*values, *sound, meters.peak_dbu[index], meters.rms_dbu[index], meters.deviation_hz[index]]
    return [*values, meters.link_quality[index], *sound]


def _pack_values(link: ReturnLink, unseen_us: int) -> list[Reading]:
    said = link.known
    return [
        said.battery_v,
        said.battery_fraction,
        said.battery_minutes,
        said.switch,
        said.asleep,
        said.goodbye,
        round(link.quality, 1),
        round(unseen_us / 1e6, 1),
    ]


def exact_readings(world: World, rows: Sequence[Row], now_us: int) -> Exact:
    """Readings that are text or exact integers, as they stand; what a pack said is withdrawn when it isn't heard."""
    exact: Exact = {}
    for row in rows:
        heard = world.blocks[-1].radio.heard[row.index] if world.blocks else NOBODY
        exact[row.channel] = {"identity": None if heard == NOBODY else world.rows[heard].pack}
        link = world.links[row.index]
        is_heard = now_us - link.last_seen_us <= UNHEARD_US
        exact[row.pack] = {"reported_frequency_hz": link.known.frequency_hz if is_heard else None}
    return exact


def changed_exact(before: Exact, now: Exact) -> Exact:
    """Those exact readings that differ."""
    return {address: values for address, values in now.items() if before.get(address) != values}
