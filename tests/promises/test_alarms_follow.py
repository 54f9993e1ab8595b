"""Alarms follow IEC 62682: every row of a crowd does what a model of the standard, written apart, says it must.

Conditions that flap, absent data, sleep, acknowledgement, and restarts in the middle of delays are all in it, so that a
missed alarm or a false clear is a divergence, too.
"""

from __future__ import annotations

from tests.promises.promise import MOST, Promise, Seen, keep
from tests.rules.model import EVERY_TRANSITION
from tests.rules.test_alarm_crowd import ROWS, TENTHS, follow

PROMISE = Promise(
    "alarms_follow",
    "alarms follow IEC 62682; no missed alarm, no false clear",
    "flapping, absent data, sleep, acknowledgement, restarts in the middle of delays",
    "steps",
    (80_000, 4_000_000, 40_000_000),
)


def tried(seed: int) -> Seen:
    reached = follow(seed)
    missing = set(EVERY_TRANSITION) - set(reached)
    assert not missing, f"never reached: {missing}"
    changes = float(sum(reached.values()))
    return {"steps": ROWS * TENTHS, "changes of state": changes, f"{MOST}transitions reached": len(reached)}


def test_every_row_of_a_crowd_follows_the_model() -> None:
    keep(PROMISE, tried)
