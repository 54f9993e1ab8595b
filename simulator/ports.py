"""Listening on loopback: a named port or none but that, otherwise the next free one."""

from __future__ import annotations

import errno
from collections.abc import Awaitable, Callable, Iterator

from fleet.errors import InvalidRequest, LimitReached, PortTaken

HOST = "127.0.0.1"
FIRST_PORT = 17_000
# Above this, the system hands ports out to outgoing connections.
LAST_PORT = 32_767


class Ports:
    """The ports to listen on, in order.

    With ``start`` they are exactly those from there up, and one that is taken is an error; otherwise taken ones are
    passed over.
    """

    def __init__(self, start: int | None) -> None:
        self._named = start is not None
        self._next: Iterator[int] = iter(range(FIRST_PORT if start is None else start, LAST_PORT + 1))

    async def listen(self, listen_on: Callable[[int], Awaitable[object]]) -> int:
        """The port on which ``listen_on`` succeeded.

        Raises PortTaken for a named port that is in use, InvalidRequest for one that the system won't give, and
        LimitReached when there is none left below 32768.
        """
        for port in self._next:
            try:
                await listen_on(port)
            except OSError as error:
                if error.errno != errno.EADDRINUSE:
                    raise InvalidRequest(f"port {port} can't be used: {error.strerror}") from error
                if self._named:
                    raise PortTaken(port) from error
                continue
            return port
        raise LimitReached("port", LAST_PORT)
