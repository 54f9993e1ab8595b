"""The one catalogue of known fields: name, where it lives, unit, range, plain words.

A device may have settings that aren't here; they arrive with their capability and get working controls all the same.
Readings that are text or exact integers travel as JSON changes (``plane`` is ``EXACT``); all others are columns of the
live tables.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from fleet.model.address import Place

Value = bool | int | float | str


def same_value(one: Value | None, other: Value | None) -> bool:
    """Whether two values are the same setting: 80 and 80.0 are, true and 1 are not."""
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, int | float) and isinstance(other, int | float):
        return math.isclose(one, other, rel_tol=1e-9)
    return one == other


class Job(StrEnum):
    """What a field is for."""

    SETTING = "setting"
    READING = "reading"


class Kind(StrEnum):
    """The kind of a field's value."""

    INTEGER = "integer"
    NUMBER = "number"
    BOOLEAN = "boolean"
    ENUM = "enum"
    TEXT = "text"


class Plane(StrEnum):
    """How a reading travels in the live feed."""

    FLOAT32 = "float32"
    UINT8 = "uint8"
    EXACT = "exact"


class Merge(StrEnum):
    """What becomes of a reading when frames are coalesced (contract: merging keeps the truth)."""

    LATEST = "latest"
    LEAST = "least"
    MOST = "most"
    ANY = "any"


@dataclass(frozen=True, slots=True)
class Field:
    """One known field of one place.

    ``minimum`` and ``maximum`` bound what is believable in ``unit``; a value outside is bad, not clamped. The allowed
    values of a setting are the device's and come with its capability.
    """

    place: Place
    name: str
    job: Job
    kind: Kind
    words: str
    unit: str = ""
    minimum: float | None = None
    maximum: float | None = None
    choices: tuple[str, ...] = ()
    merge: Merge = Merge.LATEST

    @property
    def plane(self) -> Plane:
        """How the reading travels."""
        if self.kind is Kind.TEXT or self.kind is Kind.INTEGER:
            return Plane.EXACT
        if self.kind is Kind.NUMBER:
            return Plane.FLOAT32
        return Plane.UINT8


AUDIO_STATES = (
    "open",
    "muted",
    "squelched_by_level",
    "squelched_by_tone",
    "squelched_by_identity",
    "no_key",
    "no_link",
)
SWITCH_STATES = ("on", "muted", "talkback", "off")
GOODBYES = ("none", "standby", "off", "cells")
CHARGE_STATES = ("empty", "waiting", "charging", "full", "too hot", "fault")
POWER_REFERENCES = ("erp", "eirp", "conducted")
FLOOR_METHODS = ("measured", "estimated", "given")
DIGITAL_SILENCE_DBFS = -144.0
_DBM = ("dBm", -160.0, 30.0)
_DBFS = ("dBFS", DIGITAL_SILENCE_DBFS, 6.0)
_DBU = ("dBu", -144.0, 40.0)
_HZ = ("Hz", 0.0, 10_000_000_000.0)
_MW = ("mW", 0.0, 1000.0)
_GAIN = ("dB", -120.0, 120.0)
_MA = ("mA", 0.0, 10_000.0)
_CELSIUS = ("°C", -80.0, 200.0)


def _setting(place: Place, name: str, kind: Kind, words: str, unit: tuple[str, float | None, float | None]) -> Field:
    return Field(place, name, Job.SETTING, kind, words, *unit)


def _number(
    place: Place,
    name: str,
    words: str,
    unit: tuple[str, float | None, float | None],
    merge: Merge = Merge.LATEST,
) -> Field:
    return Field(place, name, Job.READING, Kind.NUMBER, words, *unit, merge=merge)


def _coded(place: Place, name: str, words: str, choices: tuple[str, ...]) -> Field:
    return Field(place, name, Job.READING, Kind.ENUM, words, choices=choices)


def _flag(place: Place, name: str, words: str, merge: Merge = Merge.ANY) -> Field:
    return Field(place, name, Job.READING, Kind.BOOLEAN, words, merge=merge)


_PLAIN: tuple[str, None, None] = ("", None, None)
_FRACTION = ("", 0.0, 1.0)

FIELDS: tuple[Field, ...] = (
    # Settings of a device.
    _setting(Place.DEVICE, "name", Kind.TEXT, "name", _PLAIN),
    _setting(Place.DEVICE, "clock_source", Kind.ENUM, "what the audio clock follows", _PLAIN),
    _setting(Place.DEVICE, "sample_rate_hz", Kind.INTEGER, "sample rate", ("Hz", 8_000.0, 768_000.0)),
    _setting(Place.DEVICE, "panel_locked", Kind.BOOLEAN, "front panel locked", _PLAIN),
    # Settings of a carrier. Power and on or off are those of a transmitter that is no pack, such as an in-ear one.
    _setting(Place.CARRIER, "frequency_hz", Kind.INTEGER, "frequency", _HZ),
    _setting(Place.CARRIER, "mode", Kind.ENUM, "transmission mode", _PLAIN),
    _setting(Place.CARRIER, "bandwidth_hz", Kind.INTEGER, "bandwidth", _HZ),
    _setting(Place.CARRIER, "squelch_dbm", Kind.NUMBER, "squelch", _DBM),
    _setting(Place.CARRIER, "squelch_step", Kind.INTEGER, "squelch, in the device's own steps", ("", 0.0, 1000.0)),
    _setting(Place.CARRIER, "tone_squelch", Kind.BOOLEAN, "open only for the pack's tone or identity", _PLAIN),
    _setting(Place.CARRIER, "encryption", Kind.BOOLEAN, "encryption", _PLAIN),
    _setting(Place.CARRIER, "rf_power_mw", Kind.NUMBER, "radio power", _MW),
    _setting(Place.CARRIER, "power_reference", Kind.ENUM, "what the power is measured against", _PLAIN),
    _setting(Place.CARRIER, "rf_on", Kind.BOOLEAN, "radiating", _PLAIN),
    # Settings of an antenna input, at a receiver or at a distribution.
    *(
        field
        for place in (Place.BRANCH, Place.INPUT)
        for field in (
            _setting(place, "attenuation_db", Kind.NUMBER, "attenuation", _GAIN),
            _setting(place, "boost_db", Kind.NUMBER, "boost of the antenna", _GAIN),
            _setting(place, "feed_powered", Kind.BOOLEAN, "power on the antenna's feed", _PLAIN),
        )
    ),
    # Settings of a channel.
    _setting(Place.CHANNEL, "name", Kind.TEXT, "name", _PLAIN),
    _setting(Place.CHANNEL, "trim_db", Kind.NUMBER, "receiver trim", _GAIN),
    _setting(Place.CHANNEL, "muted", Kind.BOOLEAN, "muted at the receiver", _PLAIN),
    # Settings of an output. Its level is referred to the reference that the unit of its capability names.
    _setting(Place.OUTPUT, "level_db", Kind.NUMBER, "output level", _GAIN),
    _setting(Place.OUTPUT, "delay_ms", Kind.NUMBER, "delay", ("ms", 0.0, 10_000.0)),
    _setting(Place.OUTPUT, "source", Kind.ENUM, "what feeds it", _PLAIN),
    _setting(Place.OUTPUT, "clock", Kind.ENUM, "what its clock follows", _PLAIN),
    # Settings of a pack.
    _setting(Place.PACK, "name", Kind.TEXT, "name", _PLAIN),
    _setting(Place.PACK, "frequency_hz", Kind.INTEGER, "frequency", _HZ),
    _setting(Place.PACK, "input_trim_db", Kind.NUMBER, "pack gain", _GAIN),
    _setting(Place.PACK, "attenuator_db", Kind.NUMBER, "attenuator before the pack's gain", _GAIN),
    _setting(Place.PACK, "low_cut_hz", Kind.INTEGER, "low-cut, 0 is off", ("Hz", 0.0, 1000.0)),
    _setting(Place.PACK, "rf_power_mw", Kind.NUMBER, "radio power", _MW),
    _setting(Place.PACK, "power_reference", Kind.ENUM, "what the power is measured against", _PLAIN),
    _setting(Place.PACK, "rf_on", Kind.BOOLEAN, "radiating", _PLAIN),
    _setting(Place.PACK, "phantom", Kind.ENUM, "phantom power for the microphone", _PLAIN),
    _setting(Place.PACK, "bias", Kind.ENUM, "bias for the capsule", _PLAIN),
    _setting(Place.PACK, "standby", Kind.BOOLEAN, "asleep by command", _PLAIN),
    _setting(Place.PACK, "muted", Kind.BOOLEAN, "muted at the pack", _PLAIN),
    _setting(Place.PACK, "cell_type", Kind.ENUM, "type of the cells", _PLAIN),
    _setting(Place.PACK, "locked", Kind.BOOLEAN, "keys of the pack locked", _PLAIN),
    _setting(Place.PACK, "polarity_inverted", Kind.BOOLEAN, "polarity inverted", _PLAIN),
    # Readings of a branch.
    _number(Place.BRANCH, "rf_dbm", "level at this antenna input", _DBM),
    _number(Place.BRANCH, "rf_min_dbm", "least level since the last frame", _DBM, Merge.LEAST),
    _number(Place.BRANCH, "rf_max_dbm", "greatest level since the last frame", _DBM, Merge.MOST),
    _number(Place.BRANCH, "floor_dbm", "noise floor beside the carrier at this antenna input", _DBM),
    _number(Place.BRANCH, "floor_age_s", "age of the noise floor", ("s", 0.0, 1e9)),
    _coded(Place.BRANCH, "floor_method", "how the floor was found", FLOOR_METHODS),
    _flag(Place.BRANCH, "overload", "front end overloaded"),
    # Readings of a powered feed, at a receiver's own antenna input or at a distribution's.
    *(
        field
        for place in (Place.BRANCH, Place.INPUT)
        for field in (
            _number(place, "feed_ma", "current that the antenna's feed draws", _MA),
            _flag(place, "feed_fault", "the feed is shorted or open"),
        )
    ),
    # Readings of a carrier.
    _number(Place.CARRIER, "link_quality", "share of audio frames received intact", _FRACTION, Merge.LEAST),
    _flag(Place.CARRIER, "foreign", "a signal on our frequency that isn't a pack we know"),
    # Readings of a channel.
    Field(Place.CHANNEL, "identity", Job.READING, Kind.TEXT, "pack heard"),
    _number(Place.CHANNEL, "peak_dbfs", "audio peak", _DBFS, Merge.MOST),
    _number(Place.CHANNEL, "rms_dbfs", "audio level", _DBFS),
    _number(Place.CHANNEL, "peak_dbu", "audio peak at an analog output", _DBU, Merge.MOST),
    _number(Place.CHANNEL, "rms_dbu", "audio level at an analog output", _DBU),
    _number(Place.CHANNEL, "deviation_hz", "deviation of an analog carrier", ("Hz", 0.0, 1e6), Merge.MOST),
    _number(Place.CHANNEL, "audio_damage_fraction", "share of the last frame that was damaged", _FRACTION, Merge.MOST),
    _coded(Place.CHANNEL, "audio_state", "what the audio path does", AUDIO_STATES),
    Field(Place.CHANNEL, "key_fingerprint", Job.READING, Kind.TEXT, "fingerprint of the key at the receiver"),
    # Readings of a pack.
    _number(Place.PACK, "battery_v", "voltage of the cells", ("V", 0.0, 100.0)),
    _number(Place.PACK, "battery_fraction", "charge of the cells", _FRACTION),
    _number(Place.PACK, "battery_minutes", "time left by the pack's own reckoning", ("min", 0.0, 1e5)),
    _coded(Place.PACK, "switch", "the pack's own switch", SWITCH_STATES),
    _flag(Place.PACK, "asleep", "asleep", Merge.LATEST),
    Field(Place.PACK, "reported_frequency_hz", Job.READING, Kind.INTEGER, "frequency as the pack reports it", *_HZ),
    _number(Place.PACK, "return_link", "share of requests answered in the last ten seconds", _FRACTION),
    _number(Place.PACK, "last_seen_s", "time since the pack was last heard", ("s", 0.0, 1e9)),
    _coded(Place.PACK, "goodbye", "how the pack took its leave", GOODBYES),
    _flag(Place.PACK, "input_overload", "the pack's input is overloaded"),
    Field(Place.PACK, "key_fingerprint", Job.READING, Kind.TEXT, "fingerprint of the key in the pack"),
    # Readings of a bay of a charger: of the cells or the pack in it.
    Field(Place.BAY, "identity", Job.READING, Kind.TEXT, "pack in the bay"),
    _coded(Place.BAY, "charge_state", "what the bay does", CHARGE_STATES),
    _number(Place.BAY, "battery_fraction", "charge of the cells", _FRACTION),
    _number(Place.BAY, "minutes_to_full", "time until the cells are full", ("min", 0.0, 1e5)),
    _number(Place.BAY, "health_fraction", "capacity left of what the cells had when new", _FRACTION),
    _number(Place.BAY, "charge_cycles", "times the cells were charged", ("", 0.0, 1e5)),
    _number(Place.BAY, "temperature_c", "temperature of the cells", _CELSIUS, Merge.MOST),
    # Readings of a device as a whole. Slips are counted as a float: exact up to 2 to the 24th.
    Field(Place.DEVICE, "firmware", Job.READING, Kind.TEXT, "firmware"),
    _flag(Place.DEVICE, "clock_locked", "audio clock locked", Merge.LATEST),
    _number(Place.DEVICE, "clock_error_ppm", "audio clock against its reference", ("ppm", -1e6, 1e6)),
    _number(Place.DEVICE, "slip_count", "samples slipped since the device started", ("", 0.0, 16_777_216.0)),
    _number(Place.DEVICE, "temperature_c", "temperature of the device", _CELSIUS, Merge.MOST),
    _flag(Place.DEVICE, "supply_ok", "power supply in order", Merge.LATEST),
    # Readings that the console itself keeps of a device.
    _number(Place.DEVICE, "contact_age_s", "time since the last fresh heartbeat", ("s", 0.0, 1e9)),
)

_BY_PLACE_AND_NAME = {(field.place, field.name, field.job): field for field in FIELDS}


def setting(place: Place, name: str) -> Field | None:
    """The known setting of that place, or None."""
    return _BY_PLACE_AND_NAME.get((place, name, Job.SETTING))


def reading(place: Place, name: str) -> Field | None:
    """The known reading of that place, or None."""
    return _BY_PLACE_AND_NAME.get((place, name, Job.READING))


def column_fields(place: Place) -> tuple[Field, ...]:
    """The readings that are columns of that place's live table, in column order."""
    return tuple(f for f in FIELDS if f.place is place and f.job is Job.READING and f.plane is not Plane.EXACT)
