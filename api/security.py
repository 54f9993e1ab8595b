"""Launch links and the sessions they are exchanged for. Secrets are kept as hashes, and only in memory."""

from __future__ import annotations

import asyncio
import hashlib
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field

from api.answers import PersonView
from fleet.clock import Clock
from fleet.errors import LimitReached

LAUNCH_LASTS_S = 300
LAUNCHES_MAXIMUM = 32
SESSION_LASTS_S = 24 * 3600
SESSIONS_MAXIMUM = 256
_US = 1_000_000
_SECRET_BYTES = 32

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
    """One person at one browser. ``ended`` is set when it is over, so that a live connection can close at once."""

    person: PersonView
    expires_utc_us: int
    ends_monotonic_us: int
    ended: asyncio.Event = field(default_factory=asyncio.Event)


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
        self._open[_hash(token)] = _Launch(person, now_us + LAUNCH_LASTS_S * _US)
        return token

    def redeem(self, token: str) -> PersonView | None:
        """The person of a valid token, which is used up by this; None for any other.

        Looking a hash up tells an observer of time nothing about the token.
        """
        launch = self._open.pop(_hash(token), None)
        if launch is None or launch.ends_monotonic_us <= self._clock.monotonic_us():
            return None
        return launch.person


class Sessions:
    """The open sessions. Each ends after a day; at the bound, the oldest ends to make room."""

    def __init__(self, clock: Clock, make_secret: MakeSecret = random_secret) -> None:
        self._clock = clock
        self._make_secret = make_secret
        self._open: dict[str, Session] = {}

    def open(self, person: PersonView) -> tuple[str, Session]:
        """A new session and the secret for its cookie."""
        self._end_expired()
        while len(self._open) >= SESSIONS_MAXIMUM:
            self._open.pop(next(iter(self._open))).ended.set()
        secret = self._make_secret()
        lasts_us = SESSION_LASTS_S * _US
        session = Session(person, self._clock.utc_us() + lasts_us, self._clock.monotonic_us() + lasts_us)
        self._open[_hash(secret)] = session
        return secret, session

    def find(self, secret: str) -> Session | None:
        """The session of that cookie, if it is still open."""
        session = self._open.get(_hash(secret))
        if session is None or session.ends_monotonic_us > self._clock.monotonic_us():
            return session
        self._end_expired()
        return None

    @property
    def any_is_open(self) -> bool:
        """Whether anybody is in."""
        self._end_expired()
        return bool(self._open)

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


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
