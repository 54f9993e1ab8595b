"""The two-channel receivers of the ingest benchmark: what they describe, and their answers to a greeting."""

from __future__ import annotations

from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription
from fleet.protocol import codec, messages

BRANCH_READINGS = ["rf_dbm", "rf_min_dbm", "rf_max_dbm", "floor_dbm"]
CARRIER_READINGS = ["link_quality"]
CHANNEL_READINGS = ["peak_dbfs", "rms_dbfs", "audio_damage_fraction", "audio_state"]
PACK_READINGS = ["battery_v", "battery_fraction", "return_link", "asleep"]
VALUES = 2 * (2 * len(BRANCH_READINGS) + len(CARRIER_READINGS) + len(CHANNEL_READINGS) + len(PACK_READINGS))


def pack_of(device_id: str, number: int) -> str:
    return f"pack/{device_id}-{number}"


def description(device_id: str) -> DeviceDescription:
    carriers, channels = [], []
    for number in (1, 2):
        carrier, channel = f"{device_id}/carrier/{number}", f"{device_id}/channel/{number}"
        branches = (f"{carrier}/branch/a", f"{carrier}/branch/b")
        carriers.append(CarrierDescription(carrier, branches, (channel,)))
        channels.append(ChannelDescription(channel, carrier, pack_of(device_id, number)))
    packs = tuple(pack_of(device_id, number) for number in (1, 2))
    return DeviceDescription(device_id, "receiver", "rack", True, False, tuple(carriers), tuple(channels), packs)


def layout(device_id: str) -> list[messages.LayoutEntry]:
    entries = []
    for carrier in description(device_id).carriers:
        entries += [messages.LayoutEntry(branch, BRANCH_READINGS) for branch in carrier.branches]
        entries.append(messages.LayoutEntry(carrier.address, CARRIER_READINGS))
        entries.append(messages.LayoutEntry(carrier.channels[0], CHANNEL_READINGS))
    return entries + [messages.LayoutEntry(pack_of(device_id, number), PACK_READINGS) for number in (1, 2)]


def greeting(device_id: str) -> list[bytes]:
    """The answers to hello, describe, read and subscribe, in that order."""
    shown = description(device_id)
    summary = messages.DeviceSummary(device_id, shown.kind, shown.form, True, "digest")
    results: list[messages.ResultBody] = [
        messages.HelloResult("1.0", "boot-1", False, [summary], 1),
        messages.DescribeResult(shown, 1),
        messages.ReadResult([], {}, 1),
        messages.SubscribeResult(1, 100, layout(device_id), 1),
    ]
    return [codec.encode_result(number, result) for number, result in enumerate(results, 1)]
