"""People, their sessions and their tokens, durable: read over connections of their own, written by the one writer.

Of a password only what a slow hash makes of it is kept; of a cookie or a token, which are 256 random bits, a fast hash.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar

import sqlalchemy as sa

from fleet.errors import InvalidRequest, JournalUnavailable, LimitReached, NotFound
from fleet.journal.engine import reading_engine, reason_of
from fleet.journal.tables import PEOPLE, SESSIONS, TOKENS
from fleet.journal.writer import JournalWriter
from fleet.model.person import HeldRole, Person, SessionFacts, SessionWay, TokenFacts, included, name_key

PEOPLE_MAXIMUM = 500
TOKENS_MAXIMUM = 500
TOKENS_OF_ONE_MAXIMUM = 20
WRITE_WITHIN_S = 5.0
Result = TypeVar("Result")
_ENGINEER = HeldRole.ENGINEER


@dataclass(frozen=True, slots=True)
class KeptPerson:
    """A person with the hash of their password, which never leaves the process."""

    person: Person
    password_hash: str


@dataclass(frozen=True, slots=True)
class KeptSession:
    """A session with the hash of its cookie."""

    facts: SessionFacts
    secret_hash: str


@dataclass(frozen=True, slots=True)
class KeptToken:
    """A token with the hash of its secret."""

    facts: TokenFacts
    secret_hash: str


class People:
    """The people of one console. Reads wait for the disk.

    Reads and writes raise JournalUnavailable. Nothing was kept then, unless the disk answers after its five seconds.
    """

    def __init__(self, url: str, writer: JournalWriter) -> None:
        self._engine = reading_engine(url)
        self._writer = writer

    def everybody(self) -> tuple[Person, ...]:
        """Every person, by name."""
        return tuple(kept.person for kept in self._read(_all_people))

    def find(self, name: str) -> KeptPerson | None:
        """The person of that name, however it is written, or None."""
        return self._read(lambda connection: _person(connection, name))

    def sessions(self, now_utc_us: int) -> tuple[KeptSession, ...]:
        """The sessions that have not expired, the oldest first."""
        return self._read(lambda connection: _open_sessions(connection, now_utc_us))

    def tokens(self) -> tuple[KeptToken, ...]:
        """Every token that was not revoked, the oldest first."""
        return self._read(_all_tokens)

    def close(self) -> None:
        """Give the connections up."""
        self._engine.dispose()

    # ------------------------------------------------------------ people

    async def add(self, person: Person, password_hash: str) -> None:
        """Keep somebody new. Raises InvalidRequest for a name that is taken, LimitReached beyond 500."""
        await self._write(partial(_add_person, person=person, password_hash=password_hash))

    async def set_roles(self, name: str, roles: tuple[HeldRole, ...]) -> Person:
        """Give somebody other roles. Raises NotFound, and InvalidRequest when nobody could give roles any more."""
        return await self._write(partial(_change_person, name=name, changes={"roles": " ".join(roles)}))

    async def set_disabled(self, name: str, *, disabled: bool) -> Person:
        """Let somebody log in no more, or again; a disabled person's sessions and tokens are gone for good.

        Raises NotFound, and InvalidRequest when nobody could give roles any more.
        """
        return await self._write(partial(_change_person, name=name, changes={"disabled": disabled}))

    async def set_password_hash(self, name: str, password_hash: str) -> Person:
        """Keep what a slow hash made of another password. Raises NotFound."""
        return await self._write(partial(_change_person, name=name, changes={"password_hash": password_hash}))

    async def renew_password_hash(self, name: str, verified_hash: str, renewed_hash: str) -> bool:
        """Keep another hash of the same password, unless the password was changed since; whether it was kept."""
        return await self._write(partial(_renew_hash, name=name, hashes=(verified_hash, renewed_hash)))

    # ------------------------------------------------------------ sessions and tokens

    async def keep_session(self, kept: KeptSession) -> None:
        """Keep an open session, and forget those that have expired."""
        await self._write(partial(_keep_session, kept=kept))

    async def end_sessions(self, session_ids: Sequence[str]) -> None:
        """Forget sessions; those that aren't there are passed over."""
        await self._write(partial(_forget, column=SESSIONS.c.session_id, ids=tuple(session_ids)))

    async def keep_token(self, kept: KeptToken) -> None:
        """Keep a token, and forget those that have expired.

        Raises LimitReached beyond 500, or 20 of one person, and InvalidRequest for a person who is disabled.
        """
        await self._write(partial(_keep_token, kept=kept))

    async def end_tokens(self, token_ids: Sequence[str]) -> None:
        """Forget tokens; those that aren't there are passed over."""
        await self._write(partial(_forget, column=TOKENS.c.token_id, ids=tuple(token_ids)))

    async def note_uses(self, uses: dict[str, int]) -> None:
        """Keep when tokens were last used, by id."""
        await self._write(partial(_note_uses, uses=dict(uses)))

    async def _write(self, work: Callable[[sa.Connection], Result]) -> Result:
        try:
            async with asyncio.timeout(WRITE_WITHIN_S):
                return await self._writer.run(work)
        except TimeoutError as error:
            raise JournalUnavailable(f"the disk did not answer within {WRITE_WITHIN_S:g} s") from error

    def _read(self, query: Callable[[sa.Connection], Result]) -> Result:
        try:
            with self._engine.connect() as connection:
                return query(connection)
        except sa.exc.SQLAlchemyError as error:
            raise JournalUnavailable(reason_of(error)) from error
        except ValueError as error:
            raise JournalUnavailable(f"somebody's entry can't be read: {error}") from error


# ---------------------------------------------------------------- in one transaction


def _all_people(connection: sa.Connection) -> tuple[KeptPerson, ...]:
    return tuple(_kept_person(row) for row in connection.execute(sa.select(PEOPLE).order_by(PEOPLE.c.name_key)))


def _person(connection: sa.Connection, name: str) -> KeptPerson | None:
    row = connection.execute(sa.select(PEOPLE).where(PEOPLE.c.name_key == name_key(name))).one_or_none()
    return None if row is None else _kept_person(row)


def _kept_person(row: sa.Row[Any]) -> KeptPerson:
    return KeptPerson(Person(row.name, included(row.roles.split()), row.disabled, row.made_utc_us), row.password_hash)


def _add_person(connection: sa.Connection, person: Person, password_hash: str) -> None:
    if _person(connection, person.name) is not None:
        raise InvalidRequest(f"there is somebody named {person.name} already; choose another name")
    if _count(connection, PEOPLE) >= PEOPLE_MAXIMUM:
        raise LimitReached("the number of people", PEOPLE_MAXIMUM)
    row = {"name_key": name_key(person.name), "name": person.name, "roles": " ".join(person.roles)}
    more = {"disabled": person.disabled, "made_utc_us": person.made_utc_us, "password_hash": password_hash}
    connection.execute(sa.insert(PEOPLE).values(**row, **more))


def _change_person(connection: sa.Connection, name: str, changes: dict[str, Any]) -> Person:
    before = _person(connection, name)
    if before is None:
        raise NotFound("person", name)
    connection.execute(sa.update(PEOPLE).where(PEOPLE.c.name_key == name_key(name)).values(**changes))
    after = _person(connection, name)
    if after is None:
        raise NotFound("person", name)
    if _gives_roles(before.person) and not any(_gives_roles(kept.person) for kept in _all_people(connection)):
        raise InvalidRequest(f"{before.person.name} is the last engineer who can log in; make somebody else one first")
    if after.person.disabled:
        connection.execute(sa.delete(SESSIONS).where(SESSIONS.c.person == before.person.name))
        connection.execute(sa.delete(TOKENS).where(TOKENS.c.person == before.person.name))
    return after.person


def _renew_hash(connection: sa.Connection, name: str, hashes: tuple[str, str]) -> bool:
    verified, renewed = hashes
    which = sa.and_(PEOPLE.c.name_key == name_key(name), PEOPLE.c.password_hash == verified)
    return connection.execute(sa.update(PEOPLE).where(which).values(password_hash=renewed)).rowcount == 1


def _gives_roles(person: Person) -> bool:
    return _ENGINEER in person.roles and not person.disabled


def _open_sessions(connection: sa.Connection, now_utc_us: int) -> tuple[KeptSession, ...]:
    query = sa.select(SESSIONS).where(SESSIONS.c.expires_utc_us > now_utc_us)
    return tuple(_kept_session(row) for row in connection.execute(query.order_by(SESSIONS.c.opened_utc_us)))


def _kept_session(row: sa.Row[Any]) -> KeptSession:
    way, roles = SessionWay(row.way), included(row.roles.split())
    facts = SessionFacts(row.session_id, row.person, roles, way, row.opened_utc_us, row.expires_utc_us)
    return KeptSession(facts, row.secret_hash)


def _keep_session(connection: sa.Connection, kept: KeptSession) -> None:
    facts = kept.facts
    connection.execute(sa.delete(SESSIONS).where(SESSIONS.c.expires_utc_us <= facts.opened_utc_us))
    row = {"session_id": facts.session_id, "secret_hash": kept.secret_hash, "person": facts.person}
    times = {"opened_utc_us": facts.opened_utc_us, "expires_utc_us": facts.expires_utc_us}
    connection.execute(sa.insert(SESSIONS).values(**row, roles=" ".join(facts.roles), way=facts.way.value, **times))


def _all_tokens(connection: sa.Connection) -> tuple[KeptToken, ...]:
    return tuple(_kept_token(row) for row in connection.execute(sa.select(TOKENS).order_by(TOKENS.c.made_utc_us)))


def _kept_token(row: sa.Row[Any]) -> KeptToken:
    times = (row.made_utc_us, row.expires_utc_us, row.last_used_utc_us)
    return KeptToken(
        TokenFacts(row.token_id, row.name, row.person, included(row.roles.split()), *times), row.secret_hash
    )


def _keep_token(connection: sa.Connection, kept: KeptToken) -> None:
    facts = kept.facts
    owner = _person(connection, facts.person)
    if owner is not None and owner.person.disabled:
        raise InvalidRequest(f"{facts.person} is disabled and can have no tokens")
    connection.execute(sa.delete(TOKENS).where(TOKENS.c.expires_utc_us <= facts.made_utc_us))
    own = sa.select(sa.func.count()).select_from(TOKENS).where(TOKENS.c.person == facts.person)
    if (connection.scalar(own) or 0) >= TOKENS_OF_ONE_MAXIMUM:
        raise LimitReached("the number of one person's tokens", TOKENS_OF_ONE_MAXIMUM)
    if _count(connection, TOKENS) >= TOKENS_MAXIMUM:
        raise LimitReached("the number of tokens", TOKENS_MAXIMUM)
    row = {"token_id": facts.token_id, "secret_hash": kept.secret_hash, "name": facts.name, "person": facts.person}
    times = {"made_utc_us": facts.made_utc_us, "expires_utc_us": facts.expires_utc_us}
    connection.execute(sa.insert(TOKENS).values(**row, roles=" ".join(facts.roles), **times))


def _note_uses(connection: sa.Connection, uses: dict[str, int]) -> None:
    for token_id, at_utc_us in uses.items():
        which = sa.update(TOKENS).where(TOKENS.c.token_id == token_id)
        connection.execute(which.values(last_used_utc_us=at_utc_us))


def _forget(connection: sa.Connection, column: sa.Column[str], ids: tuple[str, ...]) -> None:
    if ids:
        connection.execute(sa.delete(column.table).where(column.in_(ids)))


def _count(connection: sa.Connection, table: sa.Table) -> int:
    return connection.scalar(sa.select(sa.func.count()).select_from(table)) or 0
