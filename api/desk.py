"""What every route has at hand, and how a route gets at it."""

from __future__ import annotations

import asyncio
import secrets
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import Depends
from starlette.requests import HTTPConnection

from api.accounts import Accounts
from api.console import Console
from api.security import Launches, Sessions
from fleet.clock import Clock

LIVE_CONNECTIONS_MAXIMUM = 200
_COMMAND_ID_BYTES = 12


def random_command_id() -> str:
    """A fresh id for a command that came without one."""
    return secrets.token_hex(_COMMAND_ID_BYTES)


class LiveConnections:
    """Counts the live connections, of each person too, and tells them when the console stops."""

    def __init__(self) -> None:
        self.stopping = asyncio.Event()
        self.open = 0
        self._of: Counter[str] = Counter()

    def enter(self) -> bool:
        """Take a place; False when all are taken."""
        if self.open >= LIVE_CONNECTIONS_MAXIMUM:
            return False
        self.open += 1
        return True

    def leave(self) -> None:
        """Give a place back."""
        self.open -= 1

    def opened(self, person: str) -> bool:
        """A person watches; whether it is their first connection."""
        self._of[person] += 1
        return self._of[person] == 1

    def closed(self, person: str) -> bool:
        """A person watches less; whether it was their last connection."""
        self._of[person] -= 1
        if self._of[person]:
            return False
        del self._of[person]
        return True


@dataclass(frozen=True, slots=True)
class Desk:
    """The console, the sessions, the launch links and the people; ``cookie`` is the name of the session's cookie.

    Cookies don't tell ports of one host apart, so the name holds the port: two consoles on one machine keep their own.
    ``secure`` says that the cookie goes over TLS alone.
    """

    console: Console
    sessions: Sessions
    launches: Launches
    clock: Clock
    cookie: str
    version: str
    accounts: Accounts
    secure: bool = False
    make_command_id: Callable[[], str] = random_command_id
    live: LiveConnections = field(default_factory=LiveConnections)


def desk_of(connection: HTTPConnection) -> Desk:
    """The desk of the application that this connection came to."""
    desk: Desk = connection.app.state.desk
    return desk


async def _desk_here(connection: HTTPConnection) -> Desk:
    # FastAPI runs what isn't a coroutine in a thread, and no dependency of ours waits for anything.
    return desk_of(connection)


DeskHere = Annotated[Desk, Depends(_desk_here)]
