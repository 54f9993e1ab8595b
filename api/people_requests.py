"""What may be asked about people, sessions, tokens and zones: strict models, as all requests are.

Passwords are never shown in a model's words.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from api.passwords import LENGTH_MAXIMUM
from api.requests import REASON_LENGTH_MAXIMUM, StrictModel
from api.tokens import DAYS_DEFAULT, DAYS_MAXIMUM
from fleet.model.person import NAME_LENGTH_MAXIMUM
from fleet.model.zone import ANYBODY

ZONE_NAME_LENGTH_MAXIMUM = 200
_PRINTABLE = r"^[^\p{C}]*$"

RoleName = Literal["viewer", "operator", "engineer", "instructor"]
PersonName = Annotated[str, StringConstraints(min_length=1, max_length=NAME_LENGTH_MAXIMUM, pattern=_PRINTABLE)]
Password = Annotated[str, Field(min_length=1, max_length=LENGTH_MAXIMUM, repr=False)]
RoleNames = Annotated[list[RoleName], Field(min_length=1, max_length=4)]
ZoneName = Annotated[str, StringConstraints(min_length=1, max_length=ZONE_NAME_LENGTH_MAXIMUM)]
Reason = Annotated[str, StringConstraints(max_length=REASON_LENGTH_MAXIMUM, pattern=_PRINTABLE)]


class LoginRequest(StrictModel):
    """Comes in by name and password."""

    name: PersonName
    password: Password


class OwnPasswordRequest(StrictModel):
    """Changes the caller's own password; their other sessions end."""

    old: Password
    new: Password


class NewPersonRequest(StrictModel):
    """Lets somebody new log in. Roles include those before them; the instructor's is held besides."""

    name: PersonName
    roles: RoleNames
    password: Password


class PersonRequest(StrictModel):
    """Names a person."""

    name: PersonName


class RolesRequest(StrictModel):
    """Gives somebody other roles."""

    name: PersonName
    roles: RoleNames


class PasswordRequest(StrictModel):
    """Gives somebody another password; their sessions end."""

    name: PersonName
    password: Password


class NewTokenRequest(StrictModel):
    """Makes a token in the caller's name, with no more roles than the caller holds."""

    name: PersonName
    roles: RoleNames
    days: Annotated[int, Field(ge=1, le=DAYS_MAXIMUM)] = DAYS_DEFAULT


class TakeZoneRequest(StrictModel):
    """Takes a zone that nobody holds; by force, which needs an engineer and a reason, also one that somebody does."""

    zone: ZoneName
    by_force: bool = False
    reason: Reason = ""


class OfferZoneRequest(StrictModel):
    """Offers a zone that the caller holds: to a person, to anybody (`*`), or no longer to anybody (empty)."""

    zone: ZoneName
    to: Annotated[str, StringConstraints(max_length=NAME_LENGTH_MAXIMUM, pattern=_PRINTABLE)] = ANYBODY


class ZoneRequest(StrictModel):
    """Names a zone."""

    zone: ZoneName


PEOPLE_REQUESTS: tuple[type[StrictModel], ...] = (
    LoginRequest,
    OwnPasswordRequest,
    NewPersonRequest,
    PersonRequest,
    RolesRequest,
    PasswordRequest,
    NewTokenRequest,
    TakeZoneRequest,
    OfferZoneRequest,
    ZoneRequest,
)
