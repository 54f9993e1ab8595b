"""Looking a name up: bounded in time, in threads and in answers."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor

LOOKUP_WITHIN_S = 2.0
LOOKUPS_AT_ONCE = 4
ADDRESSES_MAXIMUM = 16

Lookup = Callable[[str], Awaitable[tuple[str, ...]]]
"""The addresses of a name in numbers, the preferred first; raises OSError, saying why there are none."""


class NameLookup:
    """Asks the operating system, in threads of its own: names that aren't answered hold up nothing else."""

    def __init__(self) -> None:
        self._threads = ThreadPoolExecutor(LOOKUPS_AT_ONCE, thread_name_prefix="name lookup")

    async def __call__(self, name: str) -> tuple[str, ...]:
        """At most sixteen addresses; those beyond are left out. Raises OSError, also after two seconds."""
        asked = asyncio.get_running_loop().run_in_executor(self._threads, _addresses, name)
        try:
            async with asyncio.timeout(LOOKUP_WITHIN_S):
                return await asked
        except TimeoutError as error:
            raise OSError(f"the name {name} was not answered for within {LOOKUP_WITHIN_S:g} s") from error
        except (socket.gaierror, UnicodeError) as error:
            raise OSError(f"the name {name} leads nowhere") from error

    def close(self) -> None:
        """Let the threads end; what they still ask for is not waited for."""
        self._threads.shutdown(wait=False, cancel_futures=True)


def _addresses(name: str) -> tuple[str, ...]:
    found = socket.getaddrinfo(name, None, type=socket.SOCK_STREAM)
    return tuple(dict.fromkeys(str(sockaddr[0]) for *_, sockaddr in found))[:ADDRESSES_MAXIMUM]
