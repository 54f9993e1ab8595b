"""``redpoll people``: who may log in, kept while no console runs. Passwords are typed or piped, never arguments."""

from __future__ import annotations

import argparse
import asyncio
import getpass
import sys
from collections.abc import Callable, Coroutine, Sequence
from typing import Any

from api.accounts import Accounts
from api.answers import PersonView
from api.passwords import LENGTH_MAXIMUM, LENGTH_MINIMUM, Passwords
from api.security import Session, Sessions
from api.tokens import DAYS_DEFAULT, DAYS_MAXIMUM
from fleet.clock import Clock, SystemClock
from fleet.config import read_configuration
from fleet.errors import InvalidRequest, JournalUnavailable, NotFound
from fleet.journal.people import People
from fleet.journal.reader import Reader
from fleet.journal.writer import InlineWriter
from fleet.model.event import Event, Recorded
from fleet.model.person import HeldRole, Person

BY = "the command line"
Work = Callable[["Office", argparse.Namespace], Coroutine[Any, Any, str]]


class Office:
    """The people of a console that isn't running, and the journal that hears of every change."""

    def __init__(self, url: str, clock: Clock) -> None:
        self.writer = InlineWriter(url)
        self.store = People(url, self.writer)
        self.accounts = Accounts(self.store, Sessions(clock), self._note, clock, Passwords())
        self._reader = Reader(url)

    async def open(self) -> None:
        """Claim the database. Raises JournalUnavailable while a console uses it."""
        try:
            await self.writer.open()
        except JournalUnavailable as error:
            hint = "while a console runs, an engineer changes people through it (POST /api/v1/people), or end it first"
            raise JournalUnavailable(f"{error.reason}; {hint}") from error
        await self.accounts.restore()

    async def close(self) -> None:
        """Give the database up."""
        self._reader.close()
        self.store.close()
        await self.writer.close()

    async def _note(self, event: Event) -> None:
        await self.writer.commit([Recorded(self._reader.last_sequence() + 1, event)])


async def run_people(options: argparse.Namespace) -> int:
    """Do one thing; returns the exit code.

    Raises InvalidDocument, InvalidRequest, NotFound, LimitReached and JournalUnavailable.
    """
    configuration = await asyncio.to_thread(read_configuration, options.config)
    office = Office(configuration.database_url, SystemClock())
    try:
        await office.open()
        sys.stdout.write(await _DOING[options.doing](office, options))
    finally:
        await office.close()
    return 0


async def _add(office: Office, options: argparse.Namespace) -> str:
    password = await asyncio.to_thread(_password, piped=options.password_stdin)
    return _told(await office.accounts.add(options.name, options.role, password, BY))


async def _list(office: Office, options: argparse.Namespace) -> str:
    del options
    return "".join(_told(person) for person in await office.accounts.everybody()) or "Nobody may log in yet.\n"


async def _disable(office: Office, options: argparse.Namespace) -> str:
    return _told(await office.accounts.set_disabled(options.name, BY, disabled=True))


async def _enable(office: Office, options: argparse.Namespace) -> str:
    return _told(await office.accounts.set_disabled(options.name, BY, disabled=False))


async def _roles(office: Office, options: argparse.Namespace) -> str:
    return _told(await office.accounts.set_roles(options.name, options.role, BY))


async def _set_password(office: Office, options: argparse.Namespace) -> str:
    password = await asyncio.to_thread(_password, piped=options.password_stdin)
    return _told(await office.accounts.set_password(options.name, password, BY))


async def _token(office: Office, options: argparse.Namespace) -> str:
    days = DAYS_DEFAULT if options.days is None else options.days
    if not 1 <= days <= DAYS_MAXIMUM:
        raise InvalidRequest(f"a token lasts 1 to {DAYS_MAXIMUM} days")
    kept = office.store.find(options.name)
    if kept is None or kept.person.disabled:
        raise NotFound("person who may log in", options.name)
    held = PersonView(kept.person.name, tuple(role.value for role in kept.person.roles))
    secret, facts = await office.accounts.make_token(Session(held, 0, 0), options.label, options.role, days)
    return f"{secret}\n\nIt is printed this once. Send it as: Authorization: Bearer …   Its id is {facts.token_id}.\n"


_DOING: dict[str, Work] = {
    "add": _add,
    "list": _list,
    "disable": _disable,
    "enable": _enable,
    "roles": _roles,
    "password": _set_password,
    "token": _token,
}


def _told(person: Person) -> str:
    disabled = "  (may not log in)" if person.disabled else ""
    return f"{person.name}: {_words(person.roles)}{disabled}\n"


def _words(roles: Sequence[HeldRole]) -> str:
    return ", ".join(role.value for role in roles)


def _password(*, piped: bool) -> str:
    """The password, typed twice or one line of a pipe. Raises InvalidRequest."""
    if piped:
        return sys.stdin.readline(LENGTH_MAXIMUM + 2).rstrip("\r\n")
    if not sys.stdin.isatty():
        raise InvalidRequest("there is no terminal to type a password at; pipe it in with --password-stdin")
    password = getpass.getpass(f"Password, {LENGTH_MINIMUM} characters or more: ")
    if password != getpass.getpass("Once more: "):
        raise InvalidRequest("the two were not the same; nothing was changed")
    return password
