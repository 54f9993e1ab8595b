from __future__ import annotations

import errno
from collections.abc import Awaitable, Callable

import pytest

from fleet.errors import InvalidRequest, LimitReached, PortTaken
from simulator.ports import FIRST_PORT, LAST_PORT, Ports


def _machine(*taken: int) -> Callable[[int], Awaitable[None]]:
    async def listen_on(port: int) -> None:
        if port in taken:
            raise OSError(errno.EADDRINUSE, "in use")

    return listen_on


async def test_taken_ports_are_passed_over_and_none_is_given_twice() -> None:
    ports = Ports(None)
    listen_on = _machine(FIRST_PORT, FIRST_PORT + 2)
    assert [await ports.listen(listen_on) for _ in range(2)] == [FIRST_PORT + 1, FIRST_PORT + 3]


async def test_a_named_port_that_is_taken_is_an_error() -> None:
    ports = Ports(20_000)
    listen_on = _machine(20_001)
    assert await ports.listen(listen_on) == 20_000
    with pytest.raises(PortTaken, match="20001"):
        await ports.listen(listen_on)


async def test_there_is_an_end_to_ports() -> None:
    ports = Ports(LAST_PORT)
    listen_on = _machine()
    assert await ports.listen(listen_on) == LAST_PORT
    with pytest.raises(LimitReached, match=str(LAST_PORT)):
        await ports.listen(listen_on)


async def test_a_port_that_the_system_keeps_is_an_error_in_words() -> None:
    async def listen_on(_port: int) -> None:
        raise OSError(errno.EACCES, "not allowed")

    with pytest.raises(InvalidRequest, match="80 can't be used: not allowed"):
        await Ports(80).listen(listen_on)
