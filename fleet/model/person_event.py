"""What is journalled of people: who may do what, who came in and left, what was made in whose name. Never a secret."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fleet.model.moment import Moment
from fleet.model.person import Person, PersonChange, SessionFacts, TokenFacts


@dataclass(frozen=True, slots=True)
class PersonChanged:
    """A person was added or changed; they are carried whole. ``by`` names who did it."""

    kind: ClassVar[str] = "person changed"
    version: ClassVar[int] = 1
    at: Moment
    person: Person
    change: PersonChange
    by: str


@dataclass(frozen=True, slots=True)
class SessionOpened:
    """Somebody came in."""

    kind: ClassVar[str] = "session opened"
    version: ClassVar[int] = 1
    at: Moment
    session: SessionFacts


@dataclass(frozen=True, slots=True)
class SessionEnded:
    """Somebody left, or was put out: ``by`` names who did it, and ``reason`` says why in words."""

    kind: ClassVar[str] = "session ended"
    version: ClassVar[int] = 1
    at: Moment
    session_id: str
    person: str
    reason: str
    by: str = ""


@dataclass(frozen=True, slots=True)
class TokenMade:
    """Somebody made a token for a script."""

    kind: ClassVar[str] = "token made"
    version: ClassVar[int] = 1
    at: Moment
    token: TokenFacts
    by: str


@dataclass(frozen=True, slots=True)
class TokenRevoked:
    """A token opens nothing any more."""

    kind: ClassVar[str] = "token revoked"
    version: ClassVar[int] = 1
    at: Moment
    token_id: str
    name: str
    person: str
    reason: str
    by: str = ""


PersonEvent = PersonChanged | SessionOpened | SessionEnded | TokenMade | TokenRevoked
