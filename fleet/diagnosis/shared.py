"""What alarms may have in common: the key under which each looks for its like, and how close in time they must begin.

Where the production says how antennas and racks hang together, that decides; where it doesn't, time does.
"""

from __future__ import annotations

from dataclasses import dataclass

from fleet.model.address import parse_address
from fleet.model.alarm import Alarm
from fleet.topology import Topology

CONTACT_LOST = "contact-lost"
DEAF_BRANCH = "deaf-branch"
CLOCK_SLIPS = "clock-slips"
CLOCK_UNLOCKED = "clock-unlocked"
WEAK_RF = "weak-rf"
WRONG_KEY = "wrong-key"
AUDIO_DAMAGE = "audio-damage"
ROOT_FIRST = (CONTACT_LOST, DEAF_BRANCH, CLOCK_UNLOCKED, CLOCK_SLIPS, WEAK_RF, WRONG_KEY, AUDIO_DAMAGE)
"""Of alarms that share a matter, the earlier one here names the cause. Other rules share nothing."""
TOGETHER_WITHIN_US = 1_200_000
"""Devices that fell silent so close together share a cause: one heartbeat, for their phases differ, and two ticks."""
FEED_WITHIN_US = 10_000_000
"""Branches of one label that went deaf so close together share a feed: levels are smoothed over seconds before. Common
practice, where no antenna paths are written down."""
CLOCK_WITHIN_US = 20_000_000
"""Devices whose clocks went wrong so close together share a leader; common practice, where no racks are written."""
EVER_US = 2**62

Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shares:
    """A key, and how far the beginnings of two alarms under it may lie apart. ``name`` is what is shared, if named."""

    key: Key
    within_us: int = EVER_US
    name: str = ""


def shares_of(alarm: Alarm, topology: Topology) -> Shares:
    """What the alarm may share with others."""
    match alarm.rule_id:
        case "contact-lost":
            return Shares((CONTACT_LOST,), TOGETHER_WITHIN_US)
        case "deaf-branch":
            return _feed(alarm.address, topology)
        case "clock-slips" | "clock-unlocked":
            return _clock(alarm.address, topology)
        case "weak-rf" | "wrong-key" | "audio-damage":
            return Shares(("sound", _carrier_of(alarm.address, topology)))
        case _:
            return Shares(("alone", alarm.alarm_id))


def _feed(branch: str, topology: Topology) -> Shares:
    path = topology.path_of.get(branch)
    if path is not None:
        return Shares(("path", path), EVER_US, path)
    return Shares(("label", parse_address(branch).name), FEED_WITHIN_US)


def _clock(device_id: str, topology: Topology) -> Shares:
    rack = topology.rack_of.get(device_id)
    if rack is not None:
        return Shares(("rack", rack), EVER_US, rack)
    return Shares(("clock",), CLOCK_WITHIN_US)


def _carrier_of(address: str, topology: Topology) -> str:
    channel = topology.channels.get(address)
    return address if channel is None else channel.carrier
