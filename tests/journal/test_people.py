"""People, sessions and tokens on disk: over a restart, within their bounds, and never a secret."""

from __future__ import annotations

from pathlib import Path

import pytest
import sqlalchemy as sa

from fleet.errors import InvalidRequest, LimitReached, NotFound
from fleet.journal import migrations
from fleet.journal.ledger import Ledger
from fleet.journal.people import TOKENS_OF_ONE_MAXIMUM, KeptSession, KeptToken, People
from fleet.journal.writer import InlineWriter
from fleet.model.person import HeldRole, Person, SessionFacts, SessionWay, TokenFacts, included
from tests.virtual_time import run_virtual

ENGINEER = included(["engineer"])
LEFT = Person("Stage Left", ENGINEER, False, 1)
RIGHT = Person("Stage Right", included(["viewer", "instructor"]), False, 2)
SESSION = KeptSession(SessionFacts("5e", "Stage Left", ENGINEER, SessionWay.PASSWORD, 10, 1_000), "hash of a cookie")
TOKEN = KeptToken(TokenFacts("70", "script", "Stage Left", ENGINEER, 10, 1_000), "hash of a token")


@pytest.fixture
def url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'journal.sqlite3'}"


async def opened(url: str) -> tuple[People, InlineWriter]:
    writer = InlineWriter(url)
    await writer.open()
    return People(url, writer), writer


def test_everything_is_there_after_a_restart(url: str) -> None:
    async def main() -> None:
        people, writer = await opened(url)
        await people.add(LEFT, "h1")
        await people.add(RIGHT, "h2")
        await people.keep_session(SESSION)
        await people.keep_token(TOKEN)
        await people.note_uses({"70": 77})
        await writer.close()
        again, writer = await opened(url)
        assert again.everybody() == (LEFT, RIGHT)
        assert again.sessions(999) == (SESSION,)
        assert again.sessions(1_000) == (), "expired"
        assert [kept.facts.last_used_utc_us for kept in again.tokens()] == [77]
        assert [kept.secret_hash for kept in again.tokens()] == ["hash of a token"]
        await writer.close()

    run_virtual(main())


def test_a_name_is_one_person_s_however_it_is_written(url: str) -> None:
    async def main() -> None:
        people, writer = await opened(url)
        await people.add(LEFT, "h1")
        with pytest.raises(InvalidRequest, match="already"):
            await people.add(Person("STAGE left", ENGINEER, False, 1), "h3")
        found = people.find("stage LEFT")
        assert found is not None
        assert found.password_hash == "h1"
        assert people.find("nobody") is None
        await writer.close()

    run_virtual(main())


def test_who_is_disabled_loses_sessions_and_tokens_for_good(url: str) -> None:
    async def main() -> None:
        people, writer = await opened(url)
        await people.add(LEFT, "h1")
        await people.add(Person("Third", ENGINEER, False, 3), "h3")
        await people.keep_session(SESSION)
        await people.keep_token(TOKEN)
        assert (await people.set_disabled("stage left", disabled=True)).disabled
        await people.set_disabled("Stage Left", disabled=False)
        assert (people.sessions(0), people.tokens()) == ((), ())
        with pytest.raises(NotFound):
            await people.set_roles("Nobody", ENGINEER)
        await writer.close()

    run_virtual(main())


def test_the_last_engineer_stays_one(url: str) -> None:
    async def main() -> None:
        people, writer = await opened(url)
        await people.add(LEFT, "h1")
        await people.add(RIGHT, "h2")
        with pytest.raises(InvalidRequest, match="last engineer"):
            await people.set_disabled("Stage Left", disabled=True)
        with pytest.raises(InvalidRequest, match="last engineer"):
            await people.set_roles("Stage Left", included(["operator"]))
        assert people.everybody() == (LEFT, RIGHT)
        await people.set_disabled("Stage Right", disabled=True)
        await writer.close()

    run_virtual(main())


def test_a_database_from_before_people_gets_them(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(migrations, "STEPS", migrations.STEPS[:1])
    old = Ledger(url)
    old.open()
    assert not old.transact(lambda connection: sa.inspect(connection).has_table("people"))
    old.close()
    monkeypatch.undo()

    async def main() -> None:
        people, writer = await opened(url)
        assert people.everybody() == ()
        await writer.close()

    run_virtual(main())


@pytest.mark.parametrize(
    ("asked", "held"),
    [
        (["viewer"], ["viewer"]),
        (["engineer"], ["viewer", "operator", "engineer"]),
        (["operator", "instructor"], ["viewer", "operator", "instructor"]),
        (["instructor"], ["viewer", "instructor"]),
    ],
)
def test_roles_include_those_before_them_but_the_instructor_s(asked: list[str], held: list[str]) -> None:
    assert list(included(asked)) == [HeldRole(role) for role in held]


def test_one_person_has_twenty_tokens_of_which_expired_ones_do_not_count(url: str) -> None:
    async def main() -> None:
        people, writer = await opened(url)
        await people.add(LEFT, "h1")
        await people.add(Person("Third", ENGINEER, False, 3), "h3")
        for number in range(TOKENS_OF_ONE_MAXIMUM):
            await people.keep_token(token(f"{number:x}", 10))
        with pytest.raises(LimitReached):
            await people.keep_token(token("aa", 10))
        await people.keep_token(token("ab", 1_000))
        assert [kept.facts.token_id for kept in people.tokens()] == ["ab"]
        await people.set_disabled("Stage Left", disabled=True)
        with pytest.raises(InvalidRequest, match="disabled"):
            await people.keep_token(token("ac", 10))
        await writer.close()

    run_virtual(main())


def test_a_hash_is_renewed_only_while_the_verified_one_is_kept(url: str) -> None:
    async def main() -> None:
        people, writer = await opened(url)
        await people.add(LEFT, "h1")
        assert not await people.renew_password_hash("Stage Left", "h0", "h2")
        assert await people.renew_password_hash("stage left", "h1", "h3")
        found = people.find("Stage Left")
        assert found is not None
        assert found.password_hash == "h3"
        await writer.close()

    run_virtual(main())


def token(token_id: str, made_utc_us: int) -> KeptToken:
    facts = TokenFacts(token_id, "script", "Stage Left", ENGINEER, made_utc_us, made_utc_us + 990)
    return KeptToken(facts, f"hash of {token_id}")
