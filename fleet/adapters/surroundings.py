"""What lies around a console: who may be called, who is looked at, and who announces themselves."""

from __future__ import annotations

from functools import partial

from fleet.adapters.discovery import Listener
from fleet.adapters.look import look_at
from fleet.adapters.outgoing import Outgoing
from fleet.adapters.token_file import TokenFile
from fleet.clock import Clock
from fleet.model.device_list import Announced, Looked
from fleet.reach import Reach


class Surroundings:
    """Looking and listening, over the one way out."""

    def __init__(self, outgoing: Outgoing, tokens: TokenFile | None, listener: Listener, clock: Clock) -> None:
        self.tokens = tokens
        self._outgoing = outgoing
        self._listener = listener
        self._clock = clock

    @property
    def reach(self) -> Reach:
        """The networks and ports that may be called."""
        return self._outgoing.reach

    @property
    def on(self) -> bool:
        """Whether it is listened for what announces itself."""
        return self._listener.on

    @property
    def reason(self) -> str:
        """Why not, where it isn't."""
        return self._listener.reason

    @property
    def left_out(self) -> int:
        """How many announcements there was no room for."""
        return self._listener.left_out

    def announced(self) -> tuple[Announced, ...]:
        """What announces itself now."""
        return self._listener.announced()

    async def look(self, url: str, token: str) -> Looked:
        """Who is at that address."""
        return await look_at(url, partial(self._outgoing.open, token=token), self._clock)

    async def start(self) -> None:
        """Begin to listen."""
        await self._listener.start()

    async def stop(self) -> None:
        """Listen no more."""
        await self._listener.stop()
