"""What the API answers beside the facts of ``fleet.model``: rows of readings, pages, sessions, problems."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import msgspec

from fleet.model.address import Place
from fleet.model.device import ContactState, Origin
from fleet.model.fields import Value


class QualityWord(StrEnum):
    """How far a value may be trusted, in words; the live feed's planes carry the numbers of ``Quality``."""

    ABSENT = "absent"
    GOOD = "good"
    UNCERTAIN = "uncertain"
    BAD = "bad"


@dataclass(frozen=True, slots=True)
class ReadingView:
    """The latest value of one reading.

    ``value`` is None when absent; a coded reading is given by its word, a flag as a boolean. ``age_s`` is None when
    the age is unknown or more than 6553 seconds.
    """

    value: Value | None
    quality: QualityWord
    age_s: float | None


@dataclass(frozen=True, slots=True)
class RowView:
    """One row of a live table, for people and scripts: its readings by name, and its exact readings.

    ``origin`` says whether they come of the real world.
    """

    address: str
    place: Place
    device_id: str
    contact: ContactState | None
    origin: Origin
    readings: Mapping[str, ReadingView]
    exact: Mapping[str, Value]


@dataclass(frozen=True, slots=True)
class PersonView:
    """Who is speaking: a name and the roles held, the lowest first."""

    name: str
    roles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SessionView:
    """A session: who it belongs to, and when it ends by itself."""

    person: PersonView
    expires_utc_us: int


@dataclass(frozen=True, slots=True)
class FieldFault:
    """What is wrong with one member of a request. ``pointer`` is a JSON pointer (RFC 6901) into the request's body."""

    pointer: str
    reason: str


@dataclass(frozen=True, slots=True)
class Current:
    """What a stale write should have seen."""

    revision: str
    values: Mapping[str, Any]


class Problem(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """The one shape of every error (RFC 9457), with members of our own after ``detail``.

    ``code`` is a word for programs; ``type`` is an address of this server that explains it. Members that don't apply
    are left out. No member ever repeats what was sent.
    """

    type: str
    title: str
    status: int
    code: str
    detail: str
    address: str = ""
    field: str = ""
    allowed: dict[str, Any] | None = None
    current: Current | None = None
    needed_role: str = ""
    faults: tuple[FieldFault, ...] = ()
    retry_after_s: int | None = None


@dataclass(frozen=True, slots=True)
class Health:
    """How a console is that is well; one that isn't answers with a problem.

    ``loop_lag_s`` is how late the console came to its own work at the worst, lately. ``contacts`` counts devices by
    state.
    """

    status: str
    journal_writable: bool
    loop_lag_s: float
    contacts: dict[str, int]
