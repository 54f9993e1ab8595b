"""What each setting of *Kitchen sink* does to the readings, over real sockets.

Measured in two worlds of the same seed, so that walks, fading and luck cancel out. One world has everything as it
starts; the other has one setting of each thing changed, chosen so that none disturbs another's reading.
"""

from __future__ import annotations

import asyncio
from contextlib import AsyncExitStack
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from fleet.clock import ManualClock
from fleet.model.fields import AUDIO_STATES, Value
from simulator.scenario_checks import load
from tests.simulator.remote_desk import RemoteDesk, plain_connect, running

SETTLE_S, MEASURE_S = 2.5, 4.0
WIDE, STEP, SINGLE, SPLIT, EAR = "sink-wide-1", "sink-step-1", "sink-single-1", "sink-split-1", "sink-ear-1"
Act = tuple[str, str, tuple[tuple[str, Value], ...]]


def _act(device_id: str, address: str, **changes: Value) -> Act:
    return device_id, f"{device_id}/{address}" if "pack/" not in address else address, tuple(changes.items())


# The mode is written first, for the bandwidth hangs on it.
ACTS: tuple[Act, ...] = (
    _act(WIDE, "carrier/1", mode="dense"),
    _act(WIDE, "carrier/1/branch/a", attenuation_db=6.0),
    _act(WIDE, "carrier/1/branch/c", boost_db=6.0),
    _act(WIDE, "pack/s01", attenuator_db=10.0),
    _act(WIDE, "pack/s03", bias="off"),
    _act(WIDE, "channel/2", trim_db=-6.0),
    _act(STEP, "carrier/2", squelch_step=15),
    _act(SINGLE, "carrier/1/branch/a", attenuation_db=10.0),
    _act(SPLIT, "input/b", feed_powered=False),
    _act(SPLIT, "input/d", attenuation_db=9.0),
    _act(EAR, "channel/1", muted=False),
)
# A pack that is off leaves the wide carrier's levels to the others.
SILENCED: tuple[Act, ...] = (_act(WIDE, "pack/s04", rf_on=False),)
LOCKED: tuple[Act, ...] = (_act(WIDE, "carrier/1", encryption=False),)
DEVICES = (WIDE, STEP, SINGLE, SPLIT, EAR)


@dataclass(frozen=True, slots=True)
class Measured:
    """Mean of every reading once things have settled."""

    means: dict[tuple[str, str], float]


@cache
def _measured(acts: tuple[Act, ...]) -> Measured:
    return asyncio.run(_measure(acts))


async def _measure(acts: tuple[Act, ...]) -> Measured:
    clock = ManualClock()
    async with running(load("kitchen-sink"), clock) as (_, urls), AsyncExitStack() as stack:
        desks = {}
        for device_id in DEVICES:
            connection = await stack.enter_async_context(plain_connect(urls[device_id]))
            desks[device_id] = RemoteDesk(connection, device_id, clock)
            await desks[device_id].enter()
        await _pass(desks, clock, 1.0)
        for device_id, address, changes in acts:
            await desks[device_id].read()
            await desks[device_id].write(address, dict(changes))
        await _pass(desks, clock, SETTLE_S + MEASURE_S)
        tail = round(MEASURE_S * 10)
        cells = [(desk, cell) for desk in desks.values() for cell in desk.layout]
        return Measured(
            {cell: float(np.mean(series[-tail:])) for desk, cell in cells if (series := desk.series(*cell))}
        )


async def _pass(desks: dict[str, RemoteDesk], clock: ManualClock, seconds: float) -> None:
    for _ in range(round(seconds * 10)):
        before = {device_id: desk.frames for device_id, desk in desks.items()}
        await clock.advance(0.1)
        for device_id, desk in desks.items():
            await desk.hear_frame(before[device_id])


# The thing, what is read, the change that is expected, the tolerance, and why.
CHANGES: list[tuple[str, str, float, float]] = [
    # Decibels of attenuation and boost are decibels of level.
    (f"{WIDE}/carrier/1/branch/a", "rf_max_dbm", -6.0, 0.3),
    (f"{WIDE}/carrier/1/branch/c", "rf_max_dbm", 6.0, 0.3),
    (f"{SINGLE}/carrier/1/branch/a", "rf_dbm", -10.0, 0.1),
    (f"{WIDE}/channel/2", "rms_dbfs", -6.0, 0.1),
    (f"{WIDE}/channel/1", "rms_dbfs", -10.0, 0.1),
    # A booster without power leaks 30 dB down; a passive antenna is attenuated by what is set.
    (f"{WIDE}/carrier/1/branch/b", "rf_max_dbm", -30.0, 0.3),
    (f"{WIDE}/carrier/1/branch/d", "rf_max_dbm", -9.0, 0.3),
    # Half the bandwidth lets in half the noise, 10 log10(1/2), beside what the attenuator takes from the site's.
    (f"{WIDE}/carrier/1/branch/c", "floor_dbm", 6.0 - 3.01, 0.5),
]
VALUES: list[tuple[str, str, float, float]] = [
    # Without bias: noise at -75 (common practice) and nothing else; a capsule without power passes no rumble.
    (f"{WIDE}/channel/3", "rms_dbfs", -75.0, 0.3),
    (f"{STEP}/channel/2", "audio_state", AUDIO_STATES.index("squelched_by_level"), 0.0),
    (f"{SPLIT}/input/b", "feed_ma", 0.0, 0.0),
    (f"{SPLIT}/input/a", "feed_ma", 30.0, 0.0),
    (f"{EAR}/channel/1", "audio_state", AUDIO_STATES.index("open"), 0.0),
    (f"{EAR}/channel/2", "audio_state", AUDIO_STATES.index("muted"), 0.0),
]


@pytest.mark.parametrize(("address", "reading", "change", "tolerance"), CHANGES)
def test_change(address: str, reading: str, change: float, tolerance: float) -> None:
    found = _measured(ACTS).means[address, reading] - _measured(()).means[address, reading]
    assert found == pytest.approx(change, abs=tolerance)


@pytest.mark.parametrize(("address", "reading", "value", "tolerance"), VALUES)
def test_value(address: str, reading: str, value: float, tolerance: float) -> None:
    assert _measured(ACTS).means[address, reading] == pytest.approx(value, abs=tolerance)


def test_a_pack_whose_transmitter_is_off_leaves_its_channel_without_a_link() -> None:
    found = _measured(SILENCED).means
    assert found[f"{WIDE}/channel/4", "audio_state"] == AUDIO_STATES.index("no_link")
    assert found[f"{WIDE}/channel/3", "audio_state"] == AUDIO_STATES.index("open")


def test_without_encryption_at_one_end_nothing_is_heard_although_the_radio_is_perfect() -> None:
    found = _measured(LOCKED).means
    assert {found[f"{WIDE}/channel/{number}", "audio_state"] for number in range(1, 5)} == {
        AUDIO_STATES.index("no_key")
    }
    assert found[f"{WIDE}/carrier/1", "link_quality"] == 1.0
