"""What each setting does to the readings, over real sockets.

Every line is measured in two worlds of the same seed, one act apart, so that walks, fading and luck cancel out.
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from fleet.clock import ManualClock
from fleet.model.fields import Value
from simulator.scenario import Scenario, decode
from simulator.scenario_checks import checked
from tests.simulator.remote_desk import RemoteDesk, plain_connect, running
from tests.simulator.small_stage import STAGE, channel_text, receiver_text

SETTLE_S = 3.0
MEASURE_S = 10.0
CARRIER, BRANCH_A, BRANCH_B = "rack-1/carrier/1", "rack-1/carrier/1/branch/a", "rack-1/carrier/1/branch/b"
CHANNEL, PACK = "rack-1/channel/1", "pack/p1"
Acts = tuple[tuple[str, tuple[tuple[str, Value], ...]], ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """Mean of every reading once things have settled, and the identity that is heard."""

    means: dict[tuple[str, str], float]
    identity: object


def _act(address: str, **changes: Value) -> tuple[str, tuple[tuple[str, Value], ...]]:
    return address, tuple(changes.items())


def _stage() -> Scenario:
    """A silent part above a loud rumble, without a low-cut."""
    text = STAGE.replace('name = "Stage"\n', 'name = "Stage"\nrumble_dbfs = -40.0\n')
    text += receiver_text("rack-1", channel_text("p1") + "low_cut_hz = 0\n")
    return checked("table.toml", decode("table.toml", text))


@cache
def _outcome(acts: Acts) -> Outcome:
    return asyncio.run(_measure(acts))


async def _measure(acts: Acts) -> Outcome:
    clock = ManualClock()
    async with running(_stage(), clock) as (_, urls), plain_connect(urls["rack-1"]) as connection:
        desk = RemoteDesk(connection, "rack-1", clock)
        await desk.enter()
        await desk.advance(1.0)
        for address, changes in acts:
            await desk.write(address, dict(changes))
        await desk.advance(SETTLE_S)
        await desk.advance(MEASURE_S)
        tail = round(MEASURE_S * 10)
        means = {cell: float(np.mean(series[-tail:])) for cell in desk.layout if (series := desk.series(*cell))}
        return Outcome(means, desk.exact(CHANNEL, "identity"))


# Setting, what is read, the change that is expected, the tolerance, and why.
CHANGES: list[tuple[Acts, tuple[str, str], float, float]] = [
    # Five times the power is 10 log10 5 = 6.99 dB more.
    ((_act(PACK, rf_power_mw=50.0),), (BRANCH_A, "rf_dbm"), 6.99, 0.1),
    ((_act(PACK, rf_power_mw=50.0),), (BRANCH_B, "rf_dbm"), 6.99, 0.1),
    ((_act(PACK, rf_power_mw=2.0),), (BRANCH_A, "rf_dbm"), -6.99, 0.1),
    ((_act(PACK, rf_power_mw=50.0),), (CHANNEL, "peak_dbfs"), 0.0, 0.05),
    # Butterworth, 12 dB an octave, on a rumble at 40 Hz: fc/2, fc/4 and fc of the published table.
    ((_act(PACK, low_cut_hz=80),), (CHANNEL, "rms_dbfs"), -12.304, 0.15),
    ((_act(PACK, low_cut_hz=160),), (CHANNEL, "rms_dbfs"), -24.099, 0.15),
    ((_act(PACK, low_cut_hz=40),), (CHANNEL, "rms_dbfs"), -3.010, 0.15),
    ((_act(PACK, low_cut_hz=80),), (BRANCH_A, "rf_dbm"), 0.0, 0.05),
    # Decibels of gain are decibels of level, wherever they are added.
    ((_act(CHANNEL, trim_db=6.0),), (CHANNEL, "peak_dbfs"), 6.0, 0.05),
    ((_act(CHANNEL, trim_db=-6.0),), (CHANNEL, "rms_dbfs"), -6.0, 0.05),
    ((_act(PACK, input_trim_db=6.0),), (CHANNEL, "peak_dbfs"), 6.0, 0.05),
    ((_act(PACK, input_trim_db=6.0), _act(CHANNEL, trim_db=-6.0)), (CHANNEL, "peak_dbfs"), 0.0, 0.05),
]
AWAY = (_act(CARRIER, frequency_hz=530_000_000),)
BOTH_AWAY = (*AWAY, _act(PACK, frequency_hz=530_000_000))
ASLEEP = (_act(PACK, standby=True),)
# Setting, what is read, the value that is expected, the tolerance.
VALUES: list[tuple[Acts, tuple[str, str], float, float]] = [
    ((_act(CHANNEL, muted=True),), (CHANNEL, "peak_dbfs"), -144.0, 0.0),
    ((_act(PACK, muted=True),), (CHANNEL, "peak_dbfs"), -144.0, 0.0),
    # Asleep: the carrier is gone and the floor is left.
    (ASLEEP, (BRANCH_A, "rf_dbm"), -105.0, 0.2),
    (ASLEEP, (BRANCH_B, "rf_dbm"), -105.0, 0.2),
    (ASLEEP, (CARRIER, "link_quality"), 0.0, 0.0),
    (ASLEEP, (CHANNEL, "peak_dbfs"), -144.0, 0.0),
    (ASLEEP, (PACK, "asleep"), 1.0, 0.0),
    # The receiver elsewhere: everything is gone.
    (AWAY, (BRANCH_A, "rf_dbm"), -105.0, 0.2),
    (AWAY, (BRANCH_B, "rf_dbm"), -105.0, 0.2),
    (AWAY, (CARRIER, "link_quality"), 0.0, 0.0),
    (AWAY, (CHANNEL, "peak_dbfs"), -144.0, 0.0),
    (AWAY, (CHANNEL, "audio_damage_fraction"), 1.0, 0.0),
    # Both elsewhere, together: everything is back.
    (BOTH_AWAY, (CARRIER, "link_quality"), 1.0, 0.0),
    (BOTH_AWAY, (CHANNEL, "audio_damage_fraction"), 0.0, 0.0),
]


def _name(value: object) -> str | None:
    if isinstance(value, tuple) and value and isinstance(value[0], tuple):
        return " ".join(f"{address} {changes}" for address, changes in value)
    return ".".join(value) if isinstance(value, tuple) else None


@pytest.mark.parametrize(("acts", "reading", "change", "tolerance"), CHANGES, ids=_name)
def test_change(acts: Acts, reading: tuple[str, str], change: float, tolerance: float) -> None:
    found = _outcome(acts).means[reading] - _outcome(()).means[reading]
    assert found == pytest.approx(change, abs=tolerance)


@pytest.mark.parametrize(("acts", "reading", "value", "tolerance"), VALUES, ids=_name)
def test_value(acts: Acts, reading: tuple[str, str], value: float, tolerance: float) -> None:
    assert _outcome(acts).means[reading] == pytest.approx(value, abs=tolerance)


def test_level_moves_with_frequency_as_free_space_says() -> None:
    """ITU-R P.525: 20 log10 of the ratio of frequencies, 520 to 530 MHz; the fading differs, so it is averaged."""
    found = _outcome(BOTH_AWAY).means[BRANCH_A, "rf_dbm"] - _outcome(()).means[BRANCH_A, "rf_dbm"]
    assert found == pytest.approx(-20.0 * np.log10(530.0 / 520.0), abs=2.0)


def test_identity_goes_with_the_frequency_and_comes_back() -> None:
    assert _outcome(()).identity == "pack/p1"
    assert _outcome(AWAY).identity is None
    assert _outcome(ASLEEP).identity is None
    assert _outcome(BOTH_AWAY).identity == "pack/p1"


def test_sleep_saves_cells() -> None:
    """Common practice: 70 to 90 % less is drawn, so that the time left by the pack's reckoning is 3.3 to 10 times."""
    minutes = (PACK, "battery_minutes")
    assert 3.3 <= _outcome(ASLEEP).means[minutes] / _outcome(()).means[minutes] <= 10.0


def test_power_costs_cells() -> None:
    """Common practice: 50 mW costs 20 to 40 % of the run time against 10."""
    minutes = (PACK, "battery_minutes")
    loud = _outcome((_act(PACK, rf_power_mw=50.0),))
    assert 0.6 <= loud.means[minutes] / _outcome(()).means[minutes] <= 0.8
