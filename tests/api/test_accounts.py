"""What changes of a person takes hold at once: of log-ins under way, of what is open, whatever the disk says."""

from __future__ import annotations

import asyncio

import pytest

from api.accounts import Accounts
from api.answers import PersonView
from api.problems import RequestRefused
from api.security import SESSIONS_OF_ONE_MAXIMUM, Session, Sessions
from fleet.clock import ManualClock
from fleet.errors import InvalidRequest, JournalUnavailable
from fleet.model.event import Event
from fleet.model.person import SessionWay
from fleet.model.person_event import SessionEnded, TokenRevoked
from tests.api.people_in_memory import PeopleInMemory, accounts_in_memory
from tests.virtual_time import run_virtual

PASSWORD = "a lamp at the rock"
OTHER = "eight oars and a lamp"


async def with_left(store: PeopleInMemory) -> Accounts:
    clock = ManualClock()
    accounts = accounts_in_memory(clock, Sessions(clock), store=store)
    await accounts.add("Stage Left", ["engineer"], PASSWORD, "Quay")
    return accounts


async def come_in(accounts: Accounts) -> tuple[str, Session]:
    return await accounts.entrance.by_password("Stage Left", PASSWORD, "quay")


@pytest.mark.parametrize("change", ["disabled", "demoted", "given another password"])
def test_a_log_in_under_way_ends_refused_when_its_person_is_changed(
    change: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def main() -> None:
        store = PeopleInMemory()
        accounts = await with_left(store)
        gate, hashing = asyncio.Event(), asyncio.Event()

        async def slowly(*_: object) -> bool:
            hashing.set()
            await gate.wait()
            return True

        monkeypatch.setattr(accounts.entrance._passwords, "fits", slowly)
        monkeypatch.setattr(accounts.entrance._passwords, "is_dated", lambda _: True)
        under_way = asyncio.create_task(come_in(accounts))
        await hashing.wait()
        if change == "disabled":
            await accounts.set_disabled("Stage Left", "Quay", disabled=True)
        elif change == "demoted":
            await accounts.set_roles("Stage Left", ["viewer"], "Quay")
        else:
            await accounts.set_password("Stage Left", OTHER, "Quay")
        kept = store.find("Stage Left")
        gate.set()
        with pytest.raises(RequestRefused):
            await under_way
        assert (accounts.entrance.sessions.all(), store.kept_sessions) == ((), {})
        assert store.find("Stage Left") == kept, "no old password's hash comes back"

    run_virtual(main())


def test_though_the_disk_fails_who_is_disabled_is_out_and_who_is_demoted_reaches_less() -> None:
    async def main() -> None:
        store = PeopleInMemory()
        accounts = await with_left(store)
        secret, session = await come_in(accounts)
        token, _ = await accounts.make_token(session, "script", ["engineer"], 5)
        store.broken = True
        with pytest.raises(JournalUnavailable):
            await accounts.set_roles("stage left", ["viewer"], "Quay")
        found = accounts.tokens.find(token)
        assert found is not None
        assert (session.person.roles, found.person.roles) == (("viewer",), ("viewer",))
        with pytest.raises(JournalUnavailable):
            await accounts.set_disabled("stage left", "Quay", disabled=True)
        assert accounts.entrance.sessions.find(secret) is None
        assert accounts.tokens.find(token) is None

    run_virtual(main())


def test_though_the_disk_fails_the_journal_is_told_of_each_token_that_ended() -> None:
    async def main() -> None:
        store, clock, noted = PeopleInMemory(), ManualClock(), list[Event]()

        async def note(event: Event) -> None:
            noted.append(event)

        accounts = accounts_in_memory(clock, Sessions(clock), note, store)
        await accounts.add("Stage Left", ["engineer"], PASSWORD, "Quay")
        _, session = await come_in(accounts)
        _, facts = await accounts.make_token(session, "script", ["engineer"], 5)
        store.broken = True
        with pytest.raises(JournalUnavailable):
            await accounts.set_disabled("Stage Left", "Quay", disabled=True)
        assert [event.token_id for event in noted if isinstance(event, TokenRevoked)] == [facts.token_id]

    run_virtual(main())


def test_though_the_disk_fails_a_new_password_puts_its_person_out() -> None:
    async def main() -> None:
        store = PeopleInMemory()
        accounts = await with_left(store)
        secret, _ = await come_in(accounts)
        store.broken = True
        with pytest.raises(JournalUnavailable):
            await accounts.set_password("Stage Left", OTHER, "Quay")
        assert accounts.entrance.sessions.find(secret) is None

    run_virtual(main())


def test_neither_a_token_nor_an_ended_session_makes_tokens() -> None:
    async def main() -> None:
        accounts = await with_left(PeopleInMemory())
        _, session = await come_in(accounts)
        token, _ = await accounts.make_token(session, "script", ["engineer"], 5)
        by_token = accounts.tokens.find(token)
        assert by_token is not None
        with pytest.raises(InvalidRequest, match="a token can't make tokens"):
            await accounts.make_token(by_token, "another", ["viewer"], 5)
        await accounts.set_disabled("Stage Left", "Quay", disabled=True)
        with pytest.raises(InvalidRequest, match="the session has ended"):
            await accounts.make_token(session, "another", ["viewer"], 5)

    run_virtual(main())


def test_a_restart_lets_nobody_disabled_in() -> None:
    async def main() -> None:
        store = PeopleInMemory()
        accounts = await with_left(store)
        _, session = await come_in(accounts)
        await accounts.make_token(session, "script", ["engineer"], 5)
        await store.set_disabled("Stage Left", disabled=True)
        clock = ManualClock()
        again = accounts_in_memory(clock, Sessions(clock), store=store)
        await again.restore()
        assert (again.entrance.sessions.all(), again.tokens.all()) == ((), ())

    run_virtual(main())


def test_a_session_that_makes_room_ends_on_disk_and_in_the_journal_too() -> None:
    async def main() -> None:
        store, clock, noted = PeopleInMemory(), ManualClock(), list[Event]()

        async def note(event: Event) -> None:
            noted.append(event)

        accounts = accounts_in_memory(clock, Sessions(clock), note, store)
        left = PersonView("Stage Left", ("viewer",))
        opened = [await accounts.entrance._opened(left, SessionWay.LINK) for _ in range(SESSIONS_OF_ONE_MAXIMUM + 1)]
        oldest = opened[0][1]
        assert oldest.session_id not in store.kept_sessions
        assert [event.session_id for event in noted if isinstance(event, SessionEnded)] == [oldest.session_id]
        again = Sessions(clock)
        again.restore(session.kept() for _, session in opened)
        assert len(again.all()) == SESSIONS_OF_ONE_MAXIMUM

    run_virtual(main())
