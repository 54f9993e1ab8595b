"""The acts that a device offers: at which of its things, with which arguments."""

from __future__ import annotations

from dataclasses import replace

from fleet.model.capability import ActCapability, Argument, SchemaType, ValueSchema
from fleet.model.device import DeviceDescription
from simulator.scenario import Receiver
from simulator.scenario_gear import ActName, Gear, InEar, Scanner

SECONDS_MAXIMUM = 10
# Common practice: a test tone stays well below speech, for somebody may be listening.
TONE_MAXIMUM_DBFS = -24.0
TONE_DBFS = -30.0
SCAN_MUTES_MS = 30_000
RESTART_MUTES_MS = 4_000
_HERTZ = ValueSchema(SchemaType.INTEGER, minimum=1_000_000, maximum=6_000_000_000)
_STEP = ValueSchema(SchemaType.INTEGER, minimum=1_000, maximum=10_000_000)
_SECONDS = ValueSchema(SchemaType.INTEGER, minimum=1, maximum=SECONDS_MAXIMUM)
_LEVEL = ValueSchema(SchemaType.NUMBER, minimum=-60.0, maximum=TONE_MAXIMUM_DBFS)
_KEY = ValueSchema(SchemaType.STRING, maximum_length=128)


def offers_of(spec: Gear, description: DeviceDescription) -> tuple[ActCapability, ...]:
    """What a device can do besides being set, in the order of the scenario."""
    found = (_offer(spec, description, act) for act in spec.acts)
    return tuple(each for each in found if each.targets)


def _offer(spec: Gear, described: DeviceDescription, act: ActName) -> ActCapability:
    device, channels = (described.device_id,), tuple(channel.address for channel in described.channels)
    keyed = (*channels, *described.packs)
    match act:
        case "identify":
            seconds = Argument("seconds", _SECONDS, "s")
            return ActCapability((*device, *keyed), act, arguments=(seconds,), cancellable=True)
        case "link":
            return _link(spec, channels)
        case "make_key":
            return ActCapability(channels, act, mutes_for_ms=1_000, finish_within_ms=5_000)
        case "set_key":
            key = Argument("key", _KEY, required=True, secret=True)
            return ActCapability(keyed, act, arguments=(key,), mutes_for_ms=1_000, finish_within_ms=5_000)
        case "erase_key":
            return ActCapability(keyed, act, mutes_for_ms=1_000, finish_within_ms=5_000)
        case "tone":
            return _tone(spec, described, channels)
        case "scan":
            return _scan(spec, described)
        case "restart":
            return ActCapability(device, act, mutes_for_ms=RESTART_MUTES_MS, finish_within_ms=5_000)


def _link(spec: Gear, channels: tuple[str, ...]) -> ActCapability:
    media = spec.link_media if isinstance(spec, Receiver) else ()
    medium = Argument("medium", ValueSchema(SchemaType.STRING, enum=media), required=True)
    by_hand = any(each != "air" for each in media)
    return ActCapability(
        channels if media else (), "link", arguments=(medium,), needs_hand=by_hand, cancellable=True, progress=True
    )


def _tone(spec: Gear, described: DeviceDescription, channels: tuple[str, ...]) -> ActCapability:
    """A tone; guarded where it can reach an ear."""
    arguments = (Argument("seconds", _SECONDS, "s"), Argument("level_dbfs", _LEVEL, "dBFS"))
    targets = (*channels, *(output.address for output in described.outputs))
    hears = isinstance(spec, InEar) or any(output.form == "headphone" for output in described.outputs)
    return ActCapability(targets, "tone", arguments=arguments, cancellable=True, guarded=hears)


def _scan(spec: Gear, described: DeviceDescription) -> ActCapability:
    """A scan; a receiver listens nowhere else meanwhile, a scanner has nothing else to do."""
    arguments = (
        Argument("start_hz", _HERTZ, "Hz", required=True),
        Argument("stop_hz", _HERTZ, "Hz", required=True),
        Argument("step_hz", _STEP, "Hz", required=True),
        Argument("bandwidth_hz", _STEP, "Hz"),
    )
    alone = isinstance(spec, Scanner)
    targets = (described.device_id,) if alone else tuple(carrier.address for carrier in described.carriers)
    offer = ActCapability(targets, "scan", arguments=arguments, cancellable=True, progress=True)
    return offer if alone else replace(offer, mutes_for_ms=SCAN_MUTES_MS)
