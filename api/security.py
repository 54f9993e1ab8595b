"""Launch links, and the sessions that people come in by. Only hashes of secrets are kept, of links in memory alone."""

from __future__ import annotations

import asyncio
import hashlib
import secrets
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from starlette.datastructures import Headers

from api.answers import PersonView
from fleet.clock import Clock
from fleet.errors import LimitReached
from fleet.journal.people import KeptSession
from fleet.model.person import HeldRole, SessionFacts, SessionWay

LAUNCH_LASTS_S = 300
LAUNCHES_MAXIMUM = 32
SESSION_LASTS_S = 24 * 3600
SESSIONS_MAXIMUM = 256
SESSIONS_OF_ONE_MAXIMUM = 64
_US = 1_000_000
_SECRET_BYTES = 32
_ID_BYTES = 8
_BEARER = "bearer "

MakeSecret = Callable[[], str]


def random_secret() -> str:
    """A secret of 256 bits from the operating system, fit for an address and for a cookie."""
    return secrets.token_urlsafe(_SECRET_BYTES)


@dataclass(frozen=True, slots=True)
class _Launch:
    person: PersonView
    ends_monotonic_us: int


@dataclass(slots=True, eq=False)
class Session:
    """One person at one browser, or one script with a token.

    ``ended`` is set when it is over, so that a live connection can close at once. ``token_id`` is empty at a browser.
    ``used`` is false of one from before a restart until somebody comes with it: its browser may be gone.
    """

    person: PersonView
    expires_utc_us: int
    ends_monotonic_us: int
    opened_utc_us: int = 0
    way: SessionWay = SessionWay.LINK
    session_id: str = field(default_factory=lambda: secrets.token_hex(_ID_BYTES))
    secret_hash: str = field(default="", repr=False)
    token_id: str = ""
    used: bool = True
    ended: asyncio.Event = field(default_factory=asyncio.Event)

    def facts(self) -> SessionFacts:
        """What may be told of it."""
        roles = tuple(HeldRole(role) for role in self.person.roles)
        times = (self.opened_utc_us, self.expires_utc_us)
        return SessionFacts(self.session_id, self.person.name, roles, self.way, *times)

    def kept(self) -> KeptSession:
        """What is kept of it over a restart."""
        return KeptSession(self.facts(), self.secret_hash)


class Launches:
    """Tokens of launch links: each opens one session, once, within five minutes.

    At the bound of those outstanding, no more are issued until one is used or has lapsed.
    """

    def __init__(self, clock: Clock, make_secret: MakeSecret = random_secret) -> None:
        self._clock = clock
        self._make_secret = make_secret
        self._open: dict[str, _Launch] = {}

    def issue(self, person: PersonView) -> str:
        """A fresh token for that person.

        Raises LimitReached when too many are outstanding.
        """
        now_us = self._clock.monotonic_us()
        self._open = {key: launch for key, launch in self._open.items() if launch.ends_monotonic_us > now_us}
        if len(self._open) >= LAUNCHES_MAXIMUM:
            raise LimitReached("the number of unused launch links", LAUNCHES_MAXIMUM)
        token = self._make_secret()
        self._open[hash_of(token)] = _Launch(person, now_us + LAUNCH_LASTS_S * _US)
        return token

    def redeem(self, token: str) -> PersonView | None:
        """The person of a valid token, which is used up by this; None for any other.

        Looking a hash up tells an observer of time nothing about the token.
        """
        launch = self._open.pop(hash_of(token), None)
        if launch is None or launch.ends_monotonic_us <= self._clock.monotonic_us():
            return None
        return launch.person


class Sessions:
    """The open sessions. Each ends after a day; at a bound, of one person or of all, the oldest ends to make room."""

    def __init__(self, clock: Clock, make_secret: MakeSecret = random_secret) -> None:
        self._clock = clock
        self._make_secret = make_secret
        self._open: dict[str, Session] = {}

    def open(self, person: PersonView, way: SessionWay = SessionWay.LINK) -> tuple[str, Session]:
        """A new session and the secret for its cookie."""
        self.make_room(person.name)
        secret = self._make_secret()
        now_us, lasts_us = self._clock.utc_us(), SESSION_LASTS_S * _US
        ends_us = self._clock.monotonic_us() + lasts_us
        session = Session(person, now_us + lasts_us, ends_us, now_us, way, secret_hash=hash_of(secret))
        self._open[session.secret_hash] = session
        return secret, session

    def make_room(self, name: str) -> tuple[Session, ...]:
        """End the oldest sessions that a new one of that person leaves no room for; those that ended."""
        own, everybody = self.of(name), self.all()
        gone = own[: max(0, len(own) - SESSIONS_OF_ONE_MAXIMUM + 1)]
        rest = [session for session in everybody if session not in gone]
        gone += tuple(rest[: max(0, len(rest) - SESSIONS_MAXIMUM + 1)])
        for session in gone:
            self.end(session)
        return gone

    def restore(self, kept: Iterable[KeptSession]) -> None:
        """Take in what was open before a restart, the oldest first; beyond a bound the oldest are left out."""
        for one in kept:
            facts = one.facts
            self.make_room(facts.person)
            left_us = min(facts.expires_utc_us - self._clock.utc_us(), SESSION_LASTS_S * _US)
            person = PersonView(facts.person, tuple(role.value for role in facts.roles))
            ends_us = self._clock.monotonic_us() + left_us
            times = (facts.expires_utc_us, ends_us, facts.opened_utc_us)
            self._open[one.secret_hash] = Session(person, *times, facts.way, facts.session_id, one.secret_hash)
            self._open[one.secret_hash].used = False

    def all(self) -> tuple[Session, ...]:
        """Every open session, the oldest first."""
        self._end_expired()
        return tuple(self._open.values())

    def of(self, name: str) -> tuple[Session, ...]:
        """The open sessions of one person, the oldest first."""
        return tuple(session for session in self.all() if session.person.name == name)

    def find(self, secret: str) -> Session | None:
        """The session of that cookie, if it is still open."""
        session = self._open.get(hash_of(secret))
        if session is None:
            return None
        if session.ends_monotonic_us <= self._clock.monotonic_us():
            self._end_expired()
            return None
        session.used = True
        return session

    @property
    def any_is_open(self) -> bool:
        """Whether anybody is in, as far as anybody came since this start."""
        return any(session.used for session in self.all())

    def end(self, session: Session) -> None:
        """End a session; its live connections close."""
        self._open = {key: other for key, other in self._open.items() if other is not session}
        session.ended.set()

    def seconds_left(self, session: Session) -> float:
        """How long the session lasts yet; zero or less when it is over."""
        return (session.ends_monotonic_us - self._clock.monotonic_us()) / _US

    def _end_expired(self) -> None:
        now_us = self._clock.monotonic_us()
        for key, session in list(self._open.items()):
            if session.ends_monotonic_us <= now_us:
                del self._open[key]
                session.ended.set()


def bearer_of(headers: Headers) -> str | None:
    """The token in the Authorization header: None without such a header, empty when it holds no one token."""
    found = headers.getlist("authorization")
    if not found:
        return None
    text = found[0]
    return text[len(_BEARER) :].strip() if len(found) == 1 and text.lower().startswith(_BEARER) else ""


def hash_of(secret: str) -> str:
    """What is kept of a secret of 256 random bits; a slow hash would make nothing of it any safer."""
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
