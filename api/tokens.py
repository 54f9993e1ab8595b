"""Tokens: what scripts say in place of a cookie. Each is held as a session, so that it ends like one."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from dataclasses import replace

from api.answers import PersonView
from api.security import MakeSecret, Session, hash_of, random_secret
from fleet.clock import Clock
from fleet.journal.people import KeptToken
from fleet.model.person import HeldRole, TokenFacts, name_key

PREFIX = "redpoll_"
"""So that a token that lies about somewhere is recognised as one."""
DAYS_DEFAULT = 90
DAYS_MAXIMUM = 366
_DAY_US = 24 * 3_600 * 1_000_000
_ID_BYTES = 8


class Tokens:
    """The tokens that open something, and when each was last used."""

    def __init__(self, clock: Clock, make_secret: MakeSecret = random_secret) -> None:
        self._clock = clock
        self._make_secret = make_secret
        self._facts: dict[str, TokenFacts] = {}
        self._sessions: dict[str, Session] = {}
        self._used: dict[str, int] = {}

    def new(self, name: str, person: str, roles: tuple[HeldRole, ...], days: int) -> tuple[str, KeptToken]:
        """A fresh secret and what is to be kept of it; it opens nothing before it is put in."""
        secret = PREFIX + self._make_secret()
        now_us = self._clock.utc_us()
        facts = TokenFacts(secrets.token_hex(_ID_BYTES), name, person, roles, now_us, now_us + days * _DAY_US)
        return secret, KeptToken(facts, hash_of(secret))

    def put(self, kept: Iterable[KeptToken]) -> None:
        """Let tokens open what their roles reach, until they expire; those that have are forgotten."""
        for facts in self.all():
            if facts.expires_utc_us <= self._clock.utc_us():
                self.end(facts.token_id)
        for one in kept:
            facts = one.facts
            left_us = facts.expires_utc_us - self._clock.utc_us()
            person = PersonView(facts.person, tuple(role.value for role in facts.roles))
            times = (facts.expires_utc_us, self._clock.monotonic_us() + left_us, facts.made_utc_us)
            self._facts[facts.token_id] = facts
            self._sessions[one.secret_hash] = Session(person, *times, token_id=facts.token_id)

    def find(self, secret: str) -> Session | None:
        """What that secret opens, or None when it is expired, revoked or was never one; notes the use."""
        session = self._sessions.get(hash_of(secret))
        if session is None or session.ends_monotonic_us <= self._clock.monotonic_us():
            return None
        self._used[session.token_id] = self._clock.utc_us()
        return session

    def all(self) -> tuple[TokenFacts, ...]:
        """Every token that was not revoked, the oldest first; expired ones too, until another is put in."""
        return tuple(
            replace(facts, last_used_utc_us=self._used.get(token_id, facts.last_used_utc_us))
            for token_id, facts in self._facts.items()
        )

    def of(self, person: str) -> tuple[TokenFacts, ...]:
        """The tokens of one person."""
        return tuple(facts for facts in self.all() if facts.person == person)

    def get(self, token_id: str) -> TokenFacts | None:
        """One token, or None."""
        return next((facts for facts in self.all() if facts.token_id == token_id), None)

    def end(self, token_id: str) -> None:
        """Let a token open nothing any more; its live connections close."""
        self._facts.pop(token_id, None)
        self._used.pop(token_id, None)
        for secret_hash, session in list(self._sessions.items()):
            if session.token_id == token_id:
                del self._sessions[secret_hash]
                session.ended.set()

    def narrow(self, person: str, roles: tuple[HeldRole, ...]) -> None:
        """Let a person's tokens reach no further than the person does."""
        for session in self._sessions.values():
            facts = self._facts[session.token_id]
            if facts.person == person:
                held = tuple(role.value for role in facts.roles if role in roles)
                session.person = PersonView(person, held)

    def lessen(self, person: str, roles: tuple[HeldRole, ...]) -> None:
        """Take from a person's tokens what is not among those roles, and give nothing."""
        for session in self._sessions.values():
            if name_key(session.person.name) == name_key(person):
                session.person = PersonView(session.person.name, tuple(r for r in session.person.roles if r in roles))

    def take_uses(self) -> dict[str, int]:
        """When tokens were last used, of those used since the last call, by id."""
        found, self._used = self._used, {}
        for token_id, at_utc_us in found.items():
            if token_id in self._facts:
                self._facts[token_id] = replace(self._facts[token_id], last_used_utc_us=at_utc_us)
        return {token_id: at_utc_us for token_id, at_utc_us in found.items() if token_id in self._facts}
