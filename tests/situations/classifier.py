"""Tells the situations apart by readings, settings, the plan and the wiring; forty symptoms of one cause are one.

It knows thresholds.py and nothing of the world's insides or of any document. Eleven and fifteen it finds as candidates:
readings alone can't prove them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.situations import carrier_signs, path_signs, sound_signs
from tests.situations.recording import FRAME_S, Channel, Recording
from tests.situations.seen import Seen
from tests.situations.thresholds import RACK_SILENT_S, SLIPS_PER_S

CANDIDATES = frozenset({11, 15})


@dataclass(frozen=True, slots=True)
class Finding:
    """A situation and where it is seen; a candidate wants a test."""

    number: int
    place: str

    @property
    def candidate(self) -> bool:
        """Whether readings alone can't prove it."""
        return self.number in CANDIDATES


def classify(recording: Recording, since_s: float, until_s: float) -> set[Finding]:
    """What is wrong in a stretch of an evening."""
    seen = Seen(recording, since_s, until_s)
    silent = _silent_racks(seen)
    found = {Finding(19, rack) for rack in silent} | _slipping_racks(seen)
    heard = [channel for channel in seen.channels if seen.is_heard(channel)]
    overloaded = path_signs.overloaded_paths(seen)
    dead = path_signs.dead_distributions(seen)
    deaf = path_signs.deaf_paths(seen)
    blocks = path_signs.lost_blocks(seen)
    found |= {Finding(8, path) for path in overloaded} | {Finding(9, split) for split in dead}
    found |= {Finding(1, path) for path in deaf if recording.plan.behind[path] not in dead}
    found |= {Finding(6, channels[0].carrier) for channels in blocks}
    explained = {channel for channels in blocks for channel in channels}
    explained |= {channel for channel in heard if _hangs_on(seen, channel, dead, overloaded)}
    for channel in heard:
        found |= _of_carrier(seen, channel) if channel not in explained else set()
        found |= _of_sound(seen, channel)
    return found | _swapped(seen, heard)


def _hangs_on(seen: Seen, channel: Channel, dead: set[str], overloaded: set[str]) -> bool:
    paths = {seen.path(branch) for branch in channel.branches}
    return bool(paths & overloaded) or any(seen.recording.plan.behind[path] in dead for path in paths)


def _of_carrier(seen: Seen, channel: Channel) -> set[Finding]:
    """At most one cause for a carrier: the most special one that its signs allow."""
    signs = (
        (20, carrier_signs.is_half_retuned),
        (3, carrier_signs.is_asleep_unplanned),
        (2, carrier_signs.has_dead_cells),
        (14, carrier_signs.is_beating),
        (5, carrier_signs.has_a_stranger),
        (7, lambda seen, channel: bool(carrier_signs.makers_of_a_product(seen, channel))),
        (4, carrier_signs.is_out_of_zone),
    )
    first = next((number for number, shows in signs if shows(seen, channel)), None)
    return set() if first is None else {Finding(first, channel.carrier)}


def _of_sound(seen: Seen, channel: Channel) -> set[Finding]:
    signs = (
        (10, sound_signs.has_a_broken_lead),
        (11, sound_signs.grows_dull),
        (12, sound_signs.clips),
        (13, sound_signs.has_a_wrong_key),
        (16, sound_signs.is_squelched_tight),
        (17, sound_signs.has_no_phantom),
    )
    return {Finding(number, channel.address) for number, shows in signs if shows(seen, channel)}


def _swapped(seen: Seen, heard: list[Channel]) -> set[Finding]:
    wrong = [channel for channel in heard if sound_signs.speaks_in_wrong_places(seen, channel)]
    return {Finding(15, channel.address) for channel in wrong} if len(wrong) > 1 else set()


def _silent_racks(seen: Seen) -> set[str]:
    """19: every device of a rack has been silent for some seconds, from the same instant on."""
    silent: dict[str, list[float]] = {}
    for device, rack in seen.recording.plan.rack.items():
        if rack:
            silent.setdefault(rack, []).append(_silent_since_s(seen, device))
    return {
        rack
        for rack, since in silent.items()
        if max(since) <= seen.until_s - RACK_SILENT_S and max(since) - min(since) <= 2 * FRAME_S
    }


def _silent_since_s(seen: Seen, device: str) -> float:
    """When a device was last heard."""
    heard = ~np.isnan(seen.recording.reading(device, "temperature_c")[: seen.window.stop])
    return float(np.flatnonzero(heard)[-1] * FRAME_S) if heard.any() else float("-inf")


def _slipping_racks(seen: Seen) -> set[Finding]:
    """18: a rack's devices count slips at a steady rate, their clocks off though locked."""
    found = set()
    for device, rack in seen.recording.plan.rack.items():
        slips = seen.now(device, "slip_count")
        heard = np.flatnonzero(~np.isnan(slips))
        if len(heard) < 2:
            continue
        rate = (slips[heard[-1]] - slips[heard[0]]) / ((heard[-1] - heard[0]) * FRAME_S)
        error_ppm, locked = (seen.now(device, name)[heard] for name in ("clock_error_ppm", "clock_locked"))
        off = bool(np.all(error_ppm != 0.0) and np.all(locked == 1.0))
        if rate >= SLIPS_PER_S and off:
            found.add(Finding(18, rack or device))
    return found
