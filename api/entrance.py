"""Coming in and going: by a launch link, by name and password; and what is kept and journalled of it.

A session works from memory, so that people come in while the disk fails; it is then gone after a restart. Ending one
takes effect at once, whatever the disk says.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Sequence
from typing import Protocol

from api.answers import PersonView
from api.door import RateBound
from api.passwords import Passwords
from api.problems import refusal
from api.security import Session, Sessions
from fleet.clock import Clock
from fleet.errors import JournalUnavailable, LimitReached
from fleet.journal.people import KeptPerson, KeptSession, KeptToken
from fleet.model.event import Event
from fleet.model.moment import Moment
from fleet.model.person import HeldRole, Person, SessionWay, name_key
from fleet.model.person_event import SessionEnded, SessionOpened

TRY_AGAIN_S = 6
TRIES_OF_A_CALLER = 10
TRIES_OF_A_NAME = 20
"""At once; then one every six seconds. So nobody tries more than some ten thousand passwords a day, and nobody who
mistypes is kept waiting for long. A name has more of them than a machine, so that one machine alone can't keep
somebody out. Common practice."""
_WRONG = "The name or the password is not right, or that person may not log in."

Note = Callable[[Event], Awaitable[None]]
_log = logging.getLogger("redpoll.people")


class PeopleStore(Protocol):
    """The durable people; reads wait for the disk."""

    def everybody(self) -> tuple[Person, ...]:
        """Every person, by name."""

    def find(self, name: str) -> KeptPerson | None:
        """The person of that name, or None."""

    def sessions(self, now_utc_us: int) -> tuple[KeptSession, ...]:
        """The sessions that have not expired, the oldest first."""

    def tokens(self) -> tuple[KeptToken, ...]:
        """Every token that was not revoked, the oldest first."""

    async def add(self, person: Person, password_hash: str) -> None:
        """Keep somebody new."""

    async def set_roles(self, name: str, roles: tuple[HeldRole, ...]) -> Person:
        """Give somebody other roles."""

    async def set_disabled(self, name: str, *, disabled: bool) -> Person:
        """Let somebody log in no more, or again."""

    async def set_password_hash(self, name: str, password_hash: str) -> Person:
        """Keep the hash of another password."""

    async def renew_password_hash(self, name: str, verified_hash: str, renewed_hash: str) -> bool:
        """Keep another hash of the same password, unless the password was changed since; whether it was kept."""

    async def keep_session(self, kept: KeptSession) -> None:
        """Keep an open session."""

    async def end_sessions(self, session_ids: Sequence[str]) -> None:
        """Forget sessions."""

    async def keep_token(self, kept: KeptToken) -> None:
        """Keep a token."""

    async def end_tokens(self, token_ids: Sequence[str]) -> None:
        """Forget tokens."""

    async def note_uses(self, uses: dict[str, int]) -> None:
        """Keep when tokens were last used."""


class Entrance:
    """Lets people in and out."""

    def __init__(self, store: PeopleStore, sessions: Sessions, note: Note, clock: Clock, passwords: Passwords) -> None:
        self.sessions = sessions
        self.changing = asyncio.Lock()
        """Held while people, tokens or who is in change, so that nobody comes in by what was true a moment ago."""
        self._store = store
        self._note = note
        self._clock = clock
        self._passwords = passwords
        self._callers = RateBound(clock, a_second=1 / TRY_AGAIN_S, at_once=TRIES_OF_A_CALLER)
        self._names = RateBound(clock, a_second=1 / TRY_AGAIN_S, at_once=TRIES_OF_A_NAME)

    def now(self) -> Moment:
        """The present moment."""
        return Moment(self._clock.monotonic_us(), self._clock.utc_us())

    async def by_link(self, person: PersonView) -> tuple[str, Session]:
        """Let in whoever opened a launch link; the cookie's secret, and the session."""
        async with self.changing:
            return await self._opened(person, SessionWay.LINK)

    async def by_password(self, name: str, password: str, caller: str) -> tuple[str, Session]:
        """Let in whoever knows a password; the cookie's secret, and the session.

        Raises RequestRefused: 401 when name and password don't fit, with the same words and after the same work
        whether the name is unknown, the password wrong or the person disabled; 429 for too many tries.
        """
        kept = await self.require_password(name, password, caller)
        dated = self._passwords.is_dated(kept.password_hash)
        renewed = await self._passwords.hashed(password) if dated else kept.password_hash
        async with self.changing:
            # Hashing takes long: who was disabled, or given other roles or another password meanwhile, stays out.
            if await self._find(name) != kept:
                _log.warning("a log-in was refused to %s: the person was changed meanwhile", caller)
                raise refusal("login-refused", _WRONG)
            if dated:
                await self._store.renew_password_hash(kept.person.name, kept.password_hash, renewed)
            roles = tuple(role.value for role in kept.person.roles)
            return await self._opened(PersonView(kept.person.name, roles), SessionWay.PASSWORD)

    async def require_password(self, name: str, password: str, caller: str) -> KeptPerson:
        """The person whose password that is; refuses as ``by_password`` does."""
        self._require_turn(name, caller)
        kept = await self._find(name)
        try:
            fits = await self._passwords.fits(password, None if kept is None else kept.password_hash)
        except LimitReached as error:
            raise _too_many() from error
        if kept is None or not fits or kept.person.disabled:
            _log.warning("a log-in was refused to %s", caller)
            raise refusal("login-refused", _WRONG)
        return kept

    def _require_turn(self, name: str, caller: str) -> None:
        if not self._callers.take(caller) or not self._names.take(name_key(name)):
            _log.warning("too many log-ins are tried, lately from %s", caller)
            raise _too_many()

    async def _find(self, name: str) -> KeptPerson | None:
        return await asyncio.to_thread(self._store.find, name)

    async def _opened(self, person: PersonView, way: SessionWay) -> tuple[str, Session]:
        gone = self.sessions.make_room(person.name)
        secret, session = self.sessions.open(person, way)
        try:
            await self.end(gone, "too many sessions were open")
            await self._store.keep_session(session.kept())
        except (JournalUnavailable, LimitReached) as error:
            _log.warning("a session can't be kept over a restart: %s", error)
        await self._note(SessionOpened(self.now(), session.facts()))
        return secret, session

    async def end(self, sessions: Sequence[Session], reason: str, by: str = "") -> None:
        """End sessions at once, and then for good; their live connections close.

        Raises JournalUnavailable when the disk fails: they have ended here, and would be back after a restart.
        """
        for session in sessions:
            self.sessions.end(session)
        for session in sessions:
            await self._note(SessionEnded(self.now(), session.session_id, session.person.name, reason, by))
        await self._store.end_sessions([session.session_id for session in sessions])


def _too_many() -> Exception:
    return refusal("too-many-requests", "Too many log-ins are tried; wait a moment.", retry_after_s=TRY_AGAIN_S)
