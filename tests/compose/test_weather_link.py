"""A line in weather: in order, patient with whoever stops waiting, deaf or broken when the record says so."""

from __future__ import annotations

import asyncio
import json
import math
from collections import Counter
from collections.abc import Awaitable, Callable

import pytest

from api.compose.memory_link import SCHEME
from api.compose.weather import Outage, Weather
from api.compose.weather_link import WeatherLink
from fleet.adapters.adapter import Transport
from fleet.clock import LoopClock
from simulator.evening import open_fleet
from tests.virtual_time import run_virtual

STAGE = "stage-table"
DEVICE = "house-1"
SEED = 5
ASKED = 100
LATE = Weather(delay_ms=60.0, jitter_ms=180.0)


async def _on_a_line(weather: Weather, use: Callable[[WeatherLink, Transport], Awaitable[list[int]]]) -> list[int]:
    print(f"seed {SEED}")
    link = WeatherLink(open_fleet(STAGE, SEED), LoopClock(0), weather, SEED)
    turning = asyncio.create_task(link.run(), name="the world")
    try:
        return await use(link, await link.connect(SCHEME + DEVICE))
    finally:
        turning.cancel()
        await asyncio.gather(turning, return_exceptions=True)


async def _ask(link: WeatherLink, transport: Transport) -> None:
    """Ask many times what the device refuses by number, a tenth of a second apart."""
    for number in range(ASKED):
        await transport.send(json.dumps({"jsonrpc": "2.0", "id": number, "method": "no such"}).encode())
        await link.clock.sleep(0.1)


async def _answers(link: WeatherLink, transport: Transport) -> list[int]:
    await _ask(link, transport)
    heard: list[int] = []
    try:
        while True:
            async with asyncio.timeout(5.0):
                heard.append(json.loads(await transport.receive())["id"])
    except TimeoutError:
        return heard


async def _answers_impatiently(link: WeatherLink, transport: Transport) -> list[int]:
    """The same, and every wait given up after a hundredth of a second."""
    asking = asyncio.create_task(_ask(link, transport))
    heard: list[int] = []
    for _ in range(20 * ASKED):
        try:
            async with asyncio.timeout(0.01):
                heard.append(json.loads(await transport.receive())["id"])
        except TimeoutError:
            continue
    await asking
    return heard


@pytest.mark.parametrize("use", [_answers, _answers_impatiently])
def test_late_messages_all_arrive_and_none_overtakes(
    use: Callable[[WeatherLink, Transport], Awaitable[list[int]]],
) -> None:
    assert run_virtual(_on_a_line(LATE, use)) == list(range(ASKED))


def test_the_shares_of_lost_and_doubled_messages_are_those_asked_for() -> None:
    share = 0.2
    kept = (1.0 - share) ** 2  # There and back.
    heard = Counter(run_virtual(_on_a_line(Weather(loss=share), _answers)))
    assert abs(len(heard) - ASKED * kept) < 4.0 * math.sqrt(ASKED * kept * (1.0 - kept))
    assert set(heard.values()) == {1}
    once = (1.0 - share) ** 2
    doubled = Counter(run_virtual(_on_a_line(Weather(duplicate=share), _answers)))
    assert len(doubled) == ASKED
    told_once = sum(times == 1 for times in doubled.values())
    assert abs(told_once - ASKED * once) < 4.0 * math.sqrt(ASKED * once * (1.0 - once))
    assert set(doubled.values()) == {1, 2, 3, 4}


def test_a_line_that_was_half_open_stays_deaf_until_it_is_ended() -> None:
    async def use(link: WeatherLink, transport: Transport) -> list[int]:
        before = await _answers_impatiently(link, transport)
        assert before == list(range(50)), "asked ten times a second, it went deaf after five"
        await transport.close()
        return await _answers(link, await link.connect(SCHEME + DEVICE))

    assert run_virtual(_on_a_line(Weather(half_open=(Outage(5.0, 6.0),)), use)) == list(range(ASKED))


def test_a_partition_breaks_the_line_with_what_is_on_its_way() -> None:
    async def use(link: WeatherLink, transport: Transport) -> list[int]:
        await transport.send(b'{"jsonrpc":"2.0","id":1,"method":"no such"}')
        await link.clock.sleep(2.5)
        with pytest.raises(ConnectionError):
            await transport.receive()
        with pytest.raises(ConnectionError):
            await transport.send(b"{}")
        with pytest.raises(ConnectionError, match="nothing answers"):
            await link.connect(SCHEME + DEVICE)
        await link.clock.sleep(1.0)
        return await _answers(link, await link.connect(SCHEME + DEVICE))

    weather = Weather(delay_ms=1_500.0, partition=(Outage(1.0, 3.0, (DEVICE,)),))
    assert run_virtual(_on_a_line(weather, use)) == list(range(ASKED))
