"""When a switch takes five hundred receivers along, one row says so, and the journal has every alarm."""

from __future__ import annotations

import numpy as np

from fleet.model.device import ContactState
from fleet.model.event import AlarmChanged
from tests.promises.promise import MOST, Promise, Seen, keep
from tests.small_fleet import Hand

PROMISE = Promise(
    "flood_readable",
    "a flood stays readable",
    "nearly all of 500 receivers, with 1,000 carriers, fall silent within a second",
    "receivers that fell",
    (450, 20_000, 200_000),
)
DEVICES = 500
ROWS_MOST = 10
ON_AIR_PRIORITY = 2


def test_devices_that_fall_together_are_one_row_and_every_alarm_is_an_event() -> None:
    keep(PROMISE, tried)


def tried(seed: int, count: int = DEVICES) -> Seen:
    luck = np.random.default_rng(seed)
    devices = [f"rack-{number}" for number in range(count)]
    hand = Hand()
    hand.produce(*devices[: count // 2])
    for device_id in devices:
        hand.connect(device_id)
    hand.run(0.2, devices, {"rf_dbm": -55.0})
    silent_since_s = hand.now_s
    fallen = [device_id for device_id in devices if luck.random() < 0.97]
    beating = {device_id: silent_since_s + float(luck.random()) for device_id in fallen}
    raised_s = _watch(hand, beating, [device_id for device_id in devices if device_id not in beating])
    raised = {e.alarm.address for e in hand.events if isinstance(e, AlarmChanged) and e.alarm.rule_id == "contact-lost"}
    assert raised == set(fallen), "all journalled, none invented"
    assert not [e for e in hand.events if isinstance(e, AlarmChanged) and e.alarm.rule_id == "weak-rf"]
    matters = hand.pipeline.matters()
    assert 0 < len(matters) <= ROWS_MOST, [matter.matter_id for matter in matters]
    assert matters[0].cause == "contact-lost-together"
    assert matters[0].priority == min(matter.priority for matter in matters) == ON_AIR_PRIORITY
    assert sum(len(matter.alarms) for matter in matters) == len(fallen)
    rows = sum(len(matter.rows) for matter in matters)
    assert raised_s <= 1.0 + 0.1
    return {"receivers that fell": len(fallen), f"{MOST}rows": len(matters), "channels named": rows}


def _watch(hand: Hand, beating: dict[str, float], others: list[str]) -> float:
    """Until all are lost; seconds from the moment at which the first had been silent long enough to its first row."""
    shown_s = 0.0
    lost: set[str] = set()
    first_due_s = min(beating.values()) + 5.0
    while hand.now_s < first_due_s + 3.0:
        hand.now_s = round(hand.now_s + 0.1, 6)
        for device_id, until_s in beating.items():
            if hand.now_s <= until_s:
                hand.heartbeat(device_id)
            elif hand.now_s >= until_s + 5.0 and device_id not in lost:
                lost.add(device_id)
                hand.contact(device_id, ContactState.LOST, "no heartbeat")
        for device_id in others:
            hand.heartbeat(device_id)
            hand.frame(device_id)
        hand.tick()
        if not shown_s and hand.pipeline.matters():
            shown_s = hand.now_s
    return shown_s - first_due_s
