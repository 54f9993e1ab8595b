"""People as engineers keep them: who there is, what each may do, and the tokens that scripts use in their name."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterable

from api.answers import PersonView
from api.entrance import Entrance, Note, PeopleStore
from api.passwords import Passwords, password_problem
from api.security import Session, Sessions
from api.tokens import Tokens
from fleet.clock import Clock
from fleet.errors import InvalidRequest, JournalUnavailable, LimitReached, NotFound, NotPermitted
from fleet.model.person import HeldRole, Person, PersonChange, SessionWay, TokenFacts, included, name_key, name_problem
from fleet.model.person_event import PersonChanged, TokenMade, TokenRevoked

KEEP_USES_EVERY_S = 60.0
_log = logging.getLogger("redpoll.people")


class Accounts:
    """Changes people and tokens: durable first, then in force, then journalled. What ends, ends at once."""

    def __init__(self, store: PeopleStore, sessions: Sessions, note: Note, clock: Clock, passwords: Passwords) -> None:
        self.entrance = Entrance(store, sessions, note, clock, passwords)
        self.tokens = Tokens(clock)
        self._store = store
        self._note = note
        self._clock = clock
        self._passwords = passwords

    async def restore(self) -> None:
        """Take in the sessions and tokens that were open before a restart. Raises JournalUnavailable."""
        now_us = self._clock.utc_us()
        sessions = await asyncio.to_thread(self._store.sessions, now_us)
        tokens = await asyncio.to_thread(self._store.tokens)
        everybody = await self.everybody()
        out = {person.name for person in everybody if person.disabled}
        allowed = {person.name for person in everybody if not person.disabled}
        by_link = SessionWay.LINK
        self.entrance.sessions.restore(s for s in sessions if s.facts.way is by_link or s.facts.person in allowed)
        self.tokens.put(one for one in tokens if one.facts.person not in out)
        for person in everybody:
            self._bring_to(person)

    async def everybody(self) -> tuple[Person, ...]:
        """Every person, by name. Raises JournalUnavailable."""
        return await asyncio.to_thread(self._store.everybody)

    async def keep_uses_for_ever(self) -> None:
        """Keep, every minute, when tokens were last used."""
        while True:
            await self._clock.sleep(KEEP_USES_EVERY_S)
            uses = self.tokens.take_uses()
            try:
                if uses:
                    await self._store.note_uses(uses)
            except (JournalUnavailable, LimitReached) as error:
                _log.warning("when tokens were last used can't be kept: %s", error)

    # ------------------------------------------------------------ people

    async def add(self, name: str, roles: Iterable[str], password: str, by: str) -> Person:
        """Let somebody new log in. Raises InvalidRequest for the name or password, LimitReached, JournalUnavailable."""
        problem = name_problem(name) or password_problem(password, name)
        if problem is not None:
            raise InvalidRequest(problem)
        person = Person(name, included(roles), False, self._clock.utc_us())
        await self._store.add(person, await self._passwords.hashed(password))
        await self._note(PersonChanged(self.entrance.now(), person, PersonChange.ADDED, by))
        return person

    async def set_roles(self, name: str, roles: Iterable[str], by: str) -> Person:
        """Give somebody other roles, in force with their next request. Raises NotFound and InvalidRequest."""
        held = included(roles)
        async with self.entrance.changing:
            try:
                person = await self._store.set_roles(name, held)
            except (JournalUnavailable, LimitReached):
                self._lessen(name, held)
                raise
            self._bring_to(person)
            await self._note(PersonChanged(self.entrance.now(), person, PersonChange.ROLES, by))
            return person

    async def set_disabled(self, name: str, by: str, *, disabled: bool) -> Person:
        """Let somebody in no more, and put them out; or let them in again. Raises NotFound and InvalidRequest."""
        change = PersonChange.DISABLED if disabled else PersonChange.ENABLED
        async with self.entrance.changing:
            try:
                person = await self._store.set_disabled(name, disabled=disabled)
            except (JournalUnavailable, LimitReached):
                if disabled:
                    await self._put_out(name, by)
                raise
            if disabled:
                await self._put_out(person.name, by)
            await self._note(PersonChanged(self.entrance.now(), person, change, by))
            return person

    async def _put_out(self, name: str, by: str) -> None:
        reason = f"{name} was disabled"
        gone = [facts for facts in self.tokens.all() if name_key(facts.person) == name_key(name)]
        for facts in gone:
            self.tokens.end(facts.token_id)
        try:
            await self.entrance.end(self._sessions_of(name), reason, by)
        finally:
            for facts in gone:
                await self._note_revoked(facts, reason, by)

    async def set_password(self, name: str, password: str, by: str) -> Person:
        """Give somebody another password; their sessions end. Raises NotFound and InvalidRequest."""
        return await self._set_password(name, password, by, spared=None)

    async def change_own_password(self, session: Session, old: str, new: str, caller: str) -> Person:
        """Give oneself another password; one's other sessions end.

        Raises InvalidRequest without a password to change, and RequestRefused when the old one isn't right.
        """
        if session.way is not SessionWay.PASSWORD or session.token_id:
            raise InvalidRequest("whoever came in by a launch link or a token has no password to change")
        await self.entrance.require_password(session.person.name, old, caller)
        return await self._set_password(session.person.name, new, session.person.name, spared=session)

    async def _set_password(self, name: str, password: str, by: str, spared: Session | None) -> Person:
        problem = password_problem(password, name)
        if problem is not None:
            raise InvalidRequest(problem)
        password_hash = await self._passwords.hashed(password)
        async with self.entrance.changing:
            others = [session for session in self._sessions_of(name) if session is not spared]
            try:
                person = await self._store.set_password_hash(name, password_hash)
            except (JournalUnavailable, LimitReached):
                await self.entrance.end(others, "the password was to be changed", by)
                raise
            await self.entrance.end(others, "the password was changed", by)
            await self._note(PersonChanged(self.entrance.now(), person, PersonChange.PASSWORD, by))
            return person

    def _sessions_of(self, name: str) -> list[Session]:
        everybody, key = self.entrance.sessions.all(), name_key(name)
        return [one for one in everybody if one.way is SessionWay.PASSWORD and name_key(one.person.name) == key]

    def _lessen(self, name: str, roles: tuple[HeldRole, ...]) -> None:
        """Take from what a person has open the roles that they shall no longer hold, though the disk fails."""
        for session in self._sessions_of(name):
            session.person = PersonView(session.person.name, tuple(r for r in session.person.roles if r in roles))
        self.tokens.lessen(name, roles)

    def _bring_to(self, person: Person) -> None:
        """Let what a person has open reach as far as the person does."""
        held = tuple(role.value for role in person.roles)
        for session in self._sessions_of(person.name):
            session.person = PersonView(person.name, held)
        self.tokens.narrow(person.name, person.roles)

    # ------------------------------------------------------------ tokens

    async def make_token(self, session: Session, name: str, roles: Iterable[str], days: int) -> tuple[str, TokenFacts]:
        """A token in the caller's name; its secret is given this once.

        Raises NotPermitted for a role that the caller doesn't hold, InvalidRequest for a name, from a token or once
        the caller is put out, LimitReached, JournalUnavailable.
        """
        problem = name_problem(name)
        if problem is not None:
            raise InvalidRequest(problem)
        if session.token_id:
            raise InvalidRequest("a token can't make tokens; log in with a password to make one")
        async with self.entrance.changing:
            if session.ended.is_set():
                raise InvalidRequest("the session has ended; log in again to make a token")
            person, wanted = session.person, included(roles)
            for role in wanted:
                if role.value not in person.roles:
                    raise NotPermitted(role.value)
            secret, kept = self.tokens.new(name, person.name, wanted, days)
            await self._store.keep_token(kept)
            self.tokens.put([kept])
            await self._note(TokenMade(self.entrance.now(), kept.facts, person.name))
            return secret, kept.facts

    async def revoke_token(self, token_id: str, by: PersonView) -> None:
        """Let a token open nothing any more. Raises NotFound, NotPermitted for another's, JournalUnavailable."""
        facts = self.tokens.get(token_id)
        if facts is None:
            raise NotFound("token", token_id)
        _require_own(facts.person, by)
        self.tokens.end(token_id)
        await self._note_revoked(facts, "revoked", by.name)
        await self._store.end_tokens([token_id])

    async def _note_revoked(self, facts: TokenFacts, reason: str, by: str) -> None:
        at = self.entrance.now()
        await self._note(TokenRevoked(at, facts.token_id, facts.name, facts.person, reason, by))

    async def revoke_session(self, session_id: str, by: PersonView) -> None:
        """Put a session out. Raises NotFound, NotPermitted for another's, JournalUnavailable."""
        found = next((one for one in self.entrance.sessions.all() if one.session_id == session_id), None)
        if found is None:
            raise NotFound("session", session_id)
        _require_own(found.person.name, by)
        await self.entrance.end([found], "revoked", by.name)


def _require_own(owner: str, by: PersonView) -> None:
    if owner != by.name and HeldRole.ENGINEER not in by.roles:
        raise NotPermitted(HeldRole.ENGINEER.value)
