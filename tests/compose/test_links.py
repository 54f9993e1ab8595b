"""A console gives a link whenever nobody is in, so that nobody is locked out."""

from __future__ import annotations

import asyncio
from typing import cast

from api.answers import PersonView
from api.compose.console import keep_a_link
from api.console import Console
from api.desk import Desk
from api.security import Launches, Sessions
from fleet.clock import LoopClock
from tests.api.fake_console import FakeConsole
from tests.api.people_in_memory import accounts_in_memory
from tests.virtual_time import run_virtual

SOMEBODY = PersonView("Stage Left", ("viewer",))


def test_links_come_before_the_old_lapse_and_again_when_the_last_has_left() -> None:
    async def main() -> None:
        clock = LoopClock(0)
        console, sessions = cast("Console", FakeConsole(clock)), Sessions(clock)
        accounts = accounts_in_memory(clock, sessions)
        desk = Desk(console, sessions, Launches(clock), clock, "cookie", "test", accounts)
        said: list[str] = []
        links = asyncio.create_task(keep_a_link(desk, "http://127.0.0.1:8471", said.append))
        await clock.sleep(290.0)
        assert len(said) == 1
        await clock.sleep(8.0)
        assert len(said) == 2, "before the first has lapsed"
        assert said[0] != said[1]
        _, session = desk.sessions.open(SOMEBODY)
        await clock.sleep(3_600.0)
        assert len(said) == 2
        desk.sessions.end(session)
        await clock.sleep(3.0)
        assert len(said) == 3
        token = said[2].removeprefix("http://127.0.0.1:8471/#launch=")
        assert desk.launches.redeem(token) is not None
        links.cancel()
        await asyncio.gather(links, return_exceptions=True)

    run_virtual(main())
