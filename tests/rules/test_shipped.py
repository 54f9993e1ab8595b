"""The shipped rules: each must fire and must not fire. Limits and delays are common practice."""

from __future__ import annotations

import pytest

from fleet.errors import NotFound
from fleet.model.device import ContactState
from fleet.model.event import AlarmChanged
from fleet.model.inputs import Acknowledge, DocumentChanged, OperatorAction
from fleet.model.observation import Contact
from fleet.rules.documents import shipped_rules
from tests.small_fleet import Hand, produce

WEAK = "weak-rf:quay-1/carrier/1"
LOST = "contact-lost:quay-1"


def level(rf_dbm: float) -> dict[str, float]:
    return {"rf_dbm": rf_dbm}


A, B = "quay-1/carrier/1/branch/a", "quay-1/carrier/1/branch/b"
MISSING = float("nan")


def one_branch(rf_dbm: float) -> dict[tuple[str, str], float]:
    return {(B, "rf_dbm"): rf_dbm}


def branches(a: tuple[float, float], b: tuple[float, float]) -> dict[tuple[str, str], float]:
    """The level and the floor of each branch of the first carrier, in dBm."""
    return {(A, "rf_dbm"): a[0], (A, "floor_dbm"): a[1], (B, "rf_dbm"): b[0], (B, "floor_dbm"): b[1]}


def ready() -> Hand:
    hand = Hand()
    hand.produce("quay-1", spares=["quay-1/channel/2"])
    hand.connect("quay-1")
    hand.run(1.0, ["quay-1"])
    return hand


def act(hand: Hand, alarm_id: str) -> None:
    hand.give(OperatorAction(hand.at, "operator", Acknowledge((alarm_id,))))


def test_weak_rf_must_fire_after_one_second() -> None:
    hand = ready()
    hand.run(1.0, ["quay-1"], level(-90.1))
    assert hand.alarm_states(WEAK) == []
    hand.run(0.1, ["quay-1"], level(-90.1))
    assert hand.alarm_states(WEAK) == ["unacknowledged"]


@pytest.mark.parametrize("rf_dbm", [-90.0, -89.0, -55.0])
def test_weak_rf_must_not_fire_at_the_limit_or_above(rf_dbm: float) -> None:
    hand = ready()
    hand.run(10.0, ["quay-1"], level(rf_dbm))
    assert hand.alarm_states(WEAK) == []


def test_weak_rf_must_not_fire_in_a_shorter_fade_however_often() -> None:
    hand = ready()
    for _ in range(20):
        hand.run(1.0, ["quay-1"], level(-104.0))
        hand.run(0.1, ["quay-1"])
    assert hand.alarm_states(WEAK) == []


def test_weak_rf_must_not_fire_while_one_branch_is_good() -> None:
    hand = ready()
    hand.run(10.0, ["quay-1"], one_branch(-115.0))
    assert hand.alarm_states(WEAK) == []


def test_each_branch_is_measured_against_its_own_floor() -> None:
    hand = ready()
    hand.run(5.0, ["quay-1"], branches((-92.0, -95.0), (-96.0, -112.0)))
    assert hand.alarm_states(WEAK) == []
    hand.run(1.1, ["quay-1"], branches((-92.0, -95.0), (-96.0, -108.0)))
    (alarm,) = hand.pipeline.alarms()
    assert (alarm.alarm_id, alarm.evidence) == (
        WEAK,
        {"better_branch_margin_db": 12.0, "better_branch_rf_dbm": -96.0, "better_branch_floor_dbm": -108.0},
    )


@pytest.mark.parametrize("missing", [(MISSING, -105.0), (-95.0, MISSING)])
def test_weak_rf_must_fire_beside_a_branch_that_is_missing(missing: tuple[float, float]) -> None:
    hand = ready()
    hand.run(1.1, ["quay-1"], branches((-104.0, -105.0), missing))
    assert hand.alarm_states(WEAK) == ["unacknowledged"]
    hand.run(30.0, ["quay-1"], branches((-85.1, -105.0), missing))
    assert hand.alarm_states(WEAK) == ["unacknowledged"]
    hand.run(3.1, ["quay-1"], branches((-85.0, -105.0), missing))
    assert hand.alarm_states(WEAK)[1:] == ["returned unacknowledged"]


def test_weak_rf_must_not_fire_for_a_spare() -> None:
    hand = ready()
    hand.run(5.0, ["quay-1"], level(-104.0))
    assert hand.alarm_states("weak-rf:quay-1/carrier/2") == []


@pytest.mark.parametrize("sign", [{"asleep": 1.0}, {"goodbye": 1.0}])
def test_weak_rf_must_not_fire_while_the_pack_is_asleep(sign: dict[str, float]) -> None:
    hand = ready()
    hand.run(10.0, ["quay-1"], {"rf_dbm": -115.0, **sign})
    assert hand.alarm_states(WEAK) == []


@pytest.mark.parametrize("goodbye", [2.0, 3.0])
def test_weak_rf_must_fire_when_the_pack_was_switched_off_or_its_cells_died(goodbye: float) -> None:
    hand = ready()
    hand.run(1.1, ["quay-1"], {"rf_dbm": -115.0, "goodbye": goodbye})
    assert hand.alarm_states(WEAK) == ["unacknowledged"]


def test_weak_rf_must_not_fire_for_a_gap_in_reports_that_began_in_a_fade() -> None:
    hand = ready()
    hand.run(0.5, ["quay-1"], level(-104.0))
    for _ in range(20):
        hand.heartbeat("quay-1")
        hand.run(0.1)
    hand.run(0.3, ["quay-1"], level(-104.0))
    hand.run(1.0, ["quay-1"])
    assert hand.alarm_states(WEAK) == []


def test_absent_values_never_clear() -> None:
    hand = ready()
    hand.run(1.1, ["quay-1"], level(-104.0))
    hand.run(60.0, ["quay-1"], level(MISSING))
    hand.run(60.0, ["quay-1"], {"floor_dbm": MISSING})
    assert hand.alarm_states(WEAK) == ["unacknowledged"]
    hand.run(3.1, ["quay-1"])
    assert hand.alarm_states(WEAK)[1:] == ["returned unacknowledged"]


def test_the_deadband_holds_an_alarm() -> None:
    hand = ready()
    hand.run(1.1, ["quay-1"], level(-104.0))
    hand.run(10.0, ["quay-1"], level(-85.1))
    assert hand.alarm_states(WEAK) == ["unacknowledged"]
    hand.run(3.1, ["quay-1"], level(-85.0))
    assert hand.alarm_states(WEAK) == ["unacknowledged", "returned unacknowledged"]


def test_lost_contact_suppresses_its_children_and_keeps_what_was_known_of_them() -> None:
    hand = ready()
    hand.run(1.1, ["quay-1"], level(-104.0))
    act(hand, WEAK)
    hand.contact("quay-1", ContactState.LOST)
    hand.run(20.0)
    assert hand.alarm_states(WEAK) == ["unacknowledged", "acknowledged", "suppressed by design"]
    assert [matter.cause for matter in hand.pipeline.matters()] == ["contact-lost"]
    hand.connect("quay-1")
    hand.run(1.0, ["quay-1"], level(-104.0))
    assert hand.alarm_states(WEAK)[3:] == ["acknowledged"]
    hand.run(3.1, ["quay-1"])
    assert hand.alarm_states(WEAK)[4:] == ["normal"]


def test_an_asleep_pack_gets_a_full_delay_when_it_wakes() -> None:
    hand = ready()
    hand.run(5.0, ["quay-1"], {"rf_dbm": -115.0, "asleep": 1.0})
    hand.run(1.0, ["quay-1"], level(-115.0))
    hand.run(1.0, ["quay-1"])
    assert hand.alarm_states(WEAK) == []


def test_contact_lost_must_fire_after_five_seconds() -> None:
    hand = ready()
    hand.run(5.0)
    assert hand.alarm_states(LOST) == []
    hand.run(0.1)
    assert hand.alarm_states(LOST) == ["unacknowledged"]
    assert hand.pipeline.alarms()[0].evidence == {"contact_age_s": 5.1}


def test_contact_lost_must_not_fire_for_shorter_gaps() -> None:
    hand = ready()
    for _ in range(5):
        hand.run(4.9)
        hand.heartbeat("quay-1")
    assert hand.alarm_states(LOST) == []


def test_contact_lost_must_fire_for_a_device_that_was_never_heard() -> None:
    hand = Hand()
    hand.give(DocumentChanged(hand.at, produce("quay-1"), 1))
    hand.give(Contact(hand.at, "quay-1", ContactState.CONNECTING))
    hand.run(5.0)
    assert hand.alarm_states(LOST) == []
    hand.run(0.1)
    assert hand.alarm_states(LOST) == ["unacknowledged"]
    (matter,) = hand.pipeline.matters()
    assert (matter.priority, matter.rows) == (2, ("quay-1/channel/1", "quay-1/channel/2"))


def test_contact_lost_has_priority_three_when_nothing_of_it_is_on_air() -> None:
    hand = Hand()
    hand.produce("quay-1", spares=["quay-1/channel/1", "quay-1/channel/2"])
    hand.connect("quay-1")
    hand.run(5.2)
    assert [alarm.priority for alarm in hand.pipeline.alarms()] == [3]
    hand.produce("quay-1")
    hand.run(0.1)
    assert [alarm.priority for alarm in hand.pipeline.alarms()] == [2]


def test_contact_lost_clears_three_seconds_after_the_device_is_back() -> None:
    hand = ready()
    hand.run(6.0)
    hand.contact("quay-1", ContactState.LOST)
    hand.connect("quay-1")
    hand.run(3.0, ["quay-1"])
    assert hand.alarm_states(LOST) == ["unacknowledged"]
    hand.run(0.1, ["quay-1"])
    assert hand.alarm_states(LOST) == ["unacknowledged", "returned unacknowledged"]
    act(hand, LOST)
    assert hand.alarm_states(LOST)[2:] == ["normal"]
    assert hand.pipeline.alarms() == ()


def test_acknowledging_is_for_alarms_that_can_exist_and_all_or_nothing() -> None:
    hand = ready()
    hand.run(6.0)
    for bad in ("nonsense", "weak-rf:quay-9/carrier/1", "no-rule:quay-1"):
        with pytest.raises(NotFound):
            hand.give(OperatorAction(hand.at, "operator", Acknowledge((LOST, bad))))
    assert hand.alarm_states(LOST) == ["unacknowledged"]
    (event,) = hand.give(OperatorAction(hand.at, "operator", Acknowledge((LOST, WEAK, LOST))))
    assert isinstance(event, AlarmChanged)
    assert (event.by, event.alarm.acknowledged_by, event.alarm.state.value) == ("operator", "operator", "acknowledged")
    assert hand.give(OperatorAction(hand.at, "operator", Acknowledge((LOST,)))) == ()


def test_an_alarm_that_comes_back_unacknowledged_counts_how_often() -> None:
    hand = ready()
    for _ in range(3):
        hand.run(1.1, ["quay-1"], level(-104.0))
        hand.run(3.1, ["quay-1"])
    assert [alarm.raised_count for alarm in hand.pipeline.alarms()] == [3]
    act(hand, WEAK)
    hand.run(1.1, ["quay-1"], level(-104.0))
    assert [alarm.raised_count for alarm in hand.pipeline.alarms()] == [1]


def test_an_alarm_ends_with_its_rule() -> None:
    hand = ready()
    hand.run(6.0)
    kept = tuple(rule for rule in shipped_rules() if rule.rule_id != "contact-lost")
    hand.give(DocumentChanged(hand.at, kept, 2))
    assert hand.alarm_states(LOST) == ["unacknowledged", "normal"]
    assert hand.pipeline.rules() == kept


def test_what_its_device_no_longer_has_is_suppressed() -> None:
    hand = ready()
    hand.run(1.1, ["quay-1"], level(-104.0))
    alone = Hand(hand.pipeline, now_s=hand.now_s)
    description = hand.pipeline.devices()[0].description
    assert description is not None
    alone.connect("quay-1", channels=0)
    alone.run(0.1)
    assert alone.alarm_states(WEAK) == ["suppressed by design"]


def test_the_root_is_raised_before_its_children() -> None:
    assert [rule.rule_id for rule in shipped_rules()][:2] == ["contact-lost", "weak-rf"]
