"""People who are kept in memory alone, and passwords that cost next to nothing: for tests of what stands on them."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, field, replace

from argon2 import PasswordHasher

from api.accounts import Accounts
from api.passwords import Passwords
from api.security import Sessions
from fleet.clock import Clock
from fleet.errors import InvalidRequest, JournalUnavailable, NotFound
from fleet.journal.people import KeptPerson, KeptSession, KeptToken
from fleet.model.event import Event
from fleet.model.person import HeldRole, Person, name_key

CHEAP = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)


@dataclass
class PeopleInMemory:
    """What ``fleet.journal.people`` does, without a disk; ``broken`` makes every write fail."""

    people: dict[str, KeptPerson] = field(default_factory=dict)
    kept_sessions: dict[str, KeptSession] = field(default_factory=dict)
    kept_tokens: dict[str, KeptToken] = field(default_factory=dict)
    uses: dict[str, int] = field(default_factory=dict)
    broken: bool = False

    def everybody(self) -> tuple[Person, ...]:
        return tuple(kept.person for kept in self.people.values())

    def find(self, name: str) -> KeptPerson | None:
        return self.people.get(name_key(name))

    def sessions(self, now_utc_us: int) -> tuple[KeptSession, ...]:
        return tuple(kept for kept in self.kept_sessions.values() if kept.facts.expires_utc_us > now_utc_us)

    def tokens(self) -> tuple[KeptToken, ...]:
        return tuple(self.kept_tokens.values())

    async def add(self, person: Person, password_hash: str) -> None:
        self._write()
        if self.find(person.name) is not None:
            raise InvalidRequest("there is somebody of that name already")
        self.people[name_key(person.name)] = KeptPerson(person, password_hash)

    async def set_roles(self, name: str, roles: tuple[HeldRole, ...]) -> Person:
        return self._change(name, roles=roles)

    async def set_disabled(self, name: str, *, disabled: bool) -> Person:
        return self._change(name, disabled=disabled)

    async def set_password_hash(self, name: str, password_hash: str) -> Person:
        person = self._change(name)
        self.people[name_key(name)] = KeptPerson(person, password_hash)
        return person

    async def renew_password_hash(self, name: str, verified_hash: str, renewed_hash: str) -> bool:
        kept = self.find(name)
        if kept is None or kept.password_hash != verified_hash:
            return False
        await self.set_password_hash(name, renewed_hash)
        return True

    async def keep_session(self, kept: KeptSession) -> None:
        self._write()
        self.kept_sessions[kept.facts.session_id] = kept

    async def end_sessions(self, session_ids: Sequence[str]) -> None:
        self._write()
        for session_id in session_ids:
            self.kept_sessions.pop(session_id, None)

    async def keep_token(self, kept: KeptToken) -> None:
        self._write()
        self.kept_tokens[kept.facts.token_id] = kept

    async def end_tokens(self, token_ids: Sequence[str]) -> None:
        self._write()
        for token_id in token_ids:
            self.kept_tokens.pop(token_id, None)

    async def note_uses(self, uses: dict[str, int]) -> None:
        self._write()
        self.uses.update(uses)

    def _change(self, name: str, **changes: object) -> Person:
        self._write()
        kept = self.find(name)
        if kept is None:
            raise NotFound("person", name)
        person = replace(kept.person, **changes)  # type: ignore[arg-type]  # The members of Person, by name.
        self.people[name_key(name)] = KeptPerson(person, kept.password_hash)
        return person

    def _write(self) -> None:
        if self.broken:
            raise JournalUnavailable("the disk is full")


async def _unnoted(_: Event) -> None:
    """Nobody keeps a journal here."""


def accounts_in_memory(
    clock: Clock,
    sessions: Sessions,
    note: Callable[[Event], Awaitable[None]] = _unnoted,
    store: PeopleInMemory | None = None,
) -> Accounts:
    """Accounts over people in memory."""
    return Accounts(store or PeopleInMemory(), sessions, note, clock, Passwords(CHEAP))
