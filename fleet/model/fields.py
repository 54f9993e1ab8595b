"""The one catalogue of known fields: name, where it lives, unit, range, plain words.

A device may have settings that aren't here; they arrive with their capability and get working controls all the same.
Readings that are text or exact integers travel as JSON changes (``plane`` is ``EXACT``); all others are columns of the
live tables.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from fleet.model.address import Place

Value = bool | int | float | str


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
FLOOR_METHODS = ("measured", "estimated", "given")
DIGITAL_SILENCE_DBFS = -144.0
_DBM = ("dBm", -160.0, 30.0)
_DBFS = ("dBFS", DIGITAL_SILENCE_DBFS, 6.0)
_DBU = ("dBu", -144.0, 40.0)
_HZ = ("Hz", 0.0, 10_000_000_000.0)


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
    # Settings.
    _setting(Place.DEVICE, "name", Kind.TEXT, "name", _PLAIN),
    _setting(Place.CARRIER, "frequency_hz", Kind.INTEGER, "frequency", _HZ),
    _setting(Place.CHANNEL, "name", Kind.TEXT, "name", _PLAIN),
    _setting(Place.CHANNEL, "trim_db", Kind.NUMBER, "receiver trim", ("dB", -120.0, 120.0)),
    _setting(Place.CHANNEL, "muted", Kind.BOOLEAN, "muted at the receiver", _PLAIN),
    _setting(Place.PACK, "name", Kind.TEXT, "name", _PLAIN),
    _setting(Place.PACK, "frequency_hz", Kind.INTEGER, "frequency", _HZ),
    _setting(Place.PACK, "input_trim_db", Kind.NUMBER, "pack gain", ("dB", -120.0, 120.0)),
    _setting(Place.PACK, "low_cut_hz", Kind.INTEGER, "low-cut, 0 is off", ("Hz", 0.0, 1000.0)),
    _setting(Place.PACK, "rf_power_mw", Kind.NUMBER, "radio power", ("mW", 0.0, 1000.0)),
    _setting(Place.PACK, "standby", Kind.BOOLEAN, "asleep by command", _PLAIN),
    _setting(Place.PACK, "muted", Kind.BOOLEAN, "muted at the pack", _PLAIN),
    # Readings of a branch.
    _number(Place.BRANCH, "rf_dbm", "level at this antenna input", _DBM),
    _number(Place.BRANCH, "rf_min_dbm", "least level since the last frame", _DBM, Merge.LEAST),
    _number(Place.BRANCH, "rf_max_dbm", "greatest level since the last frame", _DBM, Merge.MOST),
    _number(Place.BRANCH, "floor_dbm", "noise floor beside the carrier at this antenna input", _DBM),
    _number(Place.BRANCH, "floor_age_s", "age of the noise floor", ("s", 0.0, 1e9)),
    _coded(Place.BRANCH, "floor_method", "how the floor was found", FLOOR_METHODS),
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
