"""People: who may do what, where they came in, what scripts may do in their name. No secret is ever part of these."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

NAME_LENGTH_MAXIMUM = 64
AT_THIS_MACHINE = "this machine"
"""The name of whoever came in by a launch link; nobody else may bear it."""

EVERYBODY_S_MARK = "*"


class HeldRole(StrEnum):
    """What a person may hold. Of the first three each includes the one before; the instructor's is held besides."""

    VIEWER = "viewer"
    OPERATOR = "operator"
    ENGINEER = "engineer"
    INSTRUCTOR = "instructor"


LADDER = (HeldRole.VIEWER, HeldRole.OPERATOR, HeldRole.ENGINEER)


class SessionWay(StrEnum):
    """How somebody came in."""

    LINK = "launch link"
    PASSWORD = "password"  # noqa: S105 - the word, no secret.


class PersonChange(StrEnum):
    """What was changed of a person."""

    ADDED = "added"
    ROLES = "roles"
    DISABLED = "disabled"
    ENABLED = "enabled"
    PASSWORD = "password"  # noqa: S105 - the word, no secret.


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who may log in, unless disabled. ``roles`` are in the order of ``HeldRole``, with those included."""

    name: str
    roles: tuple[HeldRole, ...]
    disabled: bool
    made_utc_us: int


@dataclass(frozen=True, slots=True)
class SessionFacts:
    """One person at one browser. ``session_id`` is no secret: it opens nothing."""

    session_id: str
    person: str
    roles: tuple[HeldRole, ...]
    way: SessionWay
    opened_utc_us: int
    expires_utc_us: int


@dataclass(frozen=True, slots=True)
class TokenFacts:
    """What a script may do in a person's name until it expires. ``token_id`` is no secret: it opens nothing."""

    token_id: str
    name: str
    person: str
    roles: tuple[HeldRole, ...]
    made_utc_us: int
    expires_utc_us: int
    last_used_utc_us: int | None = None


def included(roles: Iterable[str]) -> tuple[HeldRole, ...]:
    """The roles with those that they include, in order. Raises ValueError for a word that is no role, or for none."""
    held = {HeldRole(role) for role in roles}
    if not held:
        raise ValueError("a person holds at least one role")
    highest = max((LADDER.index(role) for role in held if role in LADDER), default=0)
    held.update(LADDER[: highest + 1])
    return tuple(role for role in HeldRole if role in held)


def name_key(name: str) -> str:
    """By what two names are the same: whoever reads them aloud should not be able to mix them up."""
    return unicodedata.normalize("NFKC", name).casefold()


def name_problem(name: str) -> str | None:
    """Why nobody can be called that, or None."""
    if not 1 <= len(name) <= NAME_LENGTH_MAXIMUM:
        return f"a name has 1 to {NAME_LENGTH_MAXIMUM} characters"
    if name != name.strip() or not name.isprintable():
        return "a name has no spaces at its ends and nothing that can't be printed"
    if name == EVERYBODY_S_MARK:
        return f"{EVERYBODY_S_MARK} stands for anybody"
    if name_key(name) == AT_THIS_MACHINE:
        return f"{AT_THIS_MACHINE} is what a console calls whoever came in by its launch link"
    return None
