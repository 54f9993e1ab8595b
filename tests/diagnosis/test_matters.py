from __future__ import annotations

from fleet.diagnosis.matters import matters_of
from fleet.model.alarm import Alarm, AlarmState
from fleet.model.matter import Matter
from fleet.topology import build_topology
from tests.small_fleet import describe, produce

SECOND_US = 1_000_000
IDS = ("quay-1", "quay-2", "quay-3", "quay-4")
TOPOLOGY = build_topology({device_id: describe(device_id) for device_id in IDS}, produce(*reversed(IDS)))


def alarm(
    rule_id: str,
    address: str,
    began_s: float,
    state: AlarmState = AlarmState.UNACKNOWLEDGED,
    priority: int = 2,
) -> Alarm:
    began_us = round(began_s * SECOND_US)
    evidence = {"contact_age_s": 5.0 + began_s}
    return Alarm(f"{rule_id}:{address}", rule_id, address, state, priority, began_us, began_us, evidence)


def test_one_weak_carrier_is_one_matter_of_its_row() -> None:
    (matter,) = matters_of([alarm("weak-rf", "quay-1/carrier/2", 1.0)], TOPOLOGY)
    assert (matter.cause, matter.root, matter.rows) == ("weak-rf", "quay-1/carrier/2", ("quay-1/channel/2",))
    assert matter.evidence == {"contact_age_s": 6.0}


def test_devices_lost_within_the_same_second_share_a_matter() -> None:
    lost = [
        alarm("contact-lost", device_id, began) for device_id, began in zip(IDS, (10.0, 9.5, 9.9, 20.0), strict=True)
    ]
    together, alone = matters_of(lost, TOPOLOGY)
    assert (together.cause, together.root, together.began_utc_us) == ("contact-lost-together", "quay-2", 9_500_000)
    assert together.matter_id == "contact-lost:quay-2@9500000"
    assert together.alarms == ("contact-lost:quay-2", "contact-lost:quay-3", "contact-lost:quay-1")
    assert together.rows == tuple(f"quay-{n}/channel/{c}" for n in (3, 2, 1) for c in (1, 2))
    assert together.evidence == {"devices_count": 3.0, "contact_age_s": 15.0}
    assert (alone.cause, alone.root) == ("contact-lost", "quay-4")


def test_a_matter_keeps_its_id_while_any_of_its_alarms_lives() -> None:
    one, two, three = (
        alarm("contact-lost", device_id, began) for device_id, began in zip(IDS, (10.0, 10.5, 12.0), strict=False)
    )
    (first,) = matters_of([one], TOPOLOGY)
    known: tuple[Matter, ...] = ()
    for alive in ([one], [one, two], [two], [two, three]):
        known = matters_of(alive, TOPOLOGY, known)
        assert known[0].matter_id == first.matter_id, alive
    assert [matter.alarms for matter in known] == [(two.alarm_id,), (three.alarm_id,)], "1.5 s after the one before"
    later = [two, three, alarm("contact-lost", "quay-1", 100.0)]
    ids = [matter.matter_id for matter in matters_of(later, TOPOLOGY, known)]
    assert ids[0] == first.matter_id
    assert len(set(ids)) == 3, "the device that began it fell anew, which is another matter"
    assert matters_of([], TOPOLOGY, known) == ()


def test_a_loss_that_is_seen_later_and_began_earlier_is_of_the_same_matter() -> None:
    late, early = alarm("contact-lost", "quay-1", 10.0), alarm("contact-lost", "quay-2", 9.9)
    known = matters_of([late], TOPOLOGY)
    (matter,) = matters_of([late, early], TOPOLOGY, known)
    assert (matter.matter_id, matter.root, matter.began_utc_us) == (known[0].matter_id, "quay-2", 9_900_000)


def test_order_is_by_priority_and_then_by_beginning() -> None:
    alarms = [
        alarm("weak-rf", "quay-1/carrier/1", 3.0),
        alarm("contact-lost", "quay-2", 1.0, priority=3),
        alarm("weak-rf", "quay-1/carrier/2", 2.0),
        alarm("weak-rf", "quay-3/carrier/1", 9.0, priority=1),
    ]
    assert [matter.root for matter in matters_of(alarms, TOPOLOGY)] == [
        "quay-3/carrier/1",
        "quay-1/carrier/2",
        "quay-1/carrier/1",
        "quay-2",
    ]


def test_flags_hold_when_every_alarm_has_them() -> None:
    both = [
        alarm("contact-lost", "quay-1", 1.0, AlarmState.ACKNOWLEDGED),
        alarm("contact-lost", "quay-2", 1.0, AlarmState.RETURNED_UNACKNOWLEDGED),
    ]
    (mixed,) = matters_of(both, TOPOLOGY)
    (acknowledged,) = matters_of(both[:1], TOPOLOGY)
    (returned,) = matters_of(both[1:], TOPOLOGY)
    assert (mixed.acknowledged, mixed.returned) == (False, False)
    assert (acknowledged.acknowledged, acknowledged.returned) == (True, False)
    assert (returned.acknowledged, returned.returned) == (False, True)


def test_what_is_suppressed_or_normal_makes_no_matter() -> None:
    quiet = [
        alarm("weak-rf", "quay-1/carrier/1", 1.0, AlarmState.SUPPRESSED),
        alarm("weak-rf", "quay-1/carrier/2", 1.0, AlarmState.NORMAL),
    ]
    assert matters_of(quiet, TOPOLOGY) == ()


def test_a_device_that_was_never_heard_has_the_rows_of_the_production() -> None:
    topology = build_topology({}, produce("quay-1"))
    (matter,) = matters_of([alarm("contact-lost", "quay-1", 1.0)], topology)
    assert matter.rows == ("quay-1/channel/1", "quay-1/channel/2")


# ------------------------------------------------------------ shared causes

PATHS = build_topology({device_id: describe(device_id) for device_id in IDS}, produce(*IDS))
PATHS.path_of.update({f"{device_id}/carrier/{n}/branch/b": "Quay north" for device_id in IDS[:2] for n in (1, 2)})
PATHS.rack_of.update(dict.fromkeys(IDS[:3], "Rack 1"))


def branch(device_id: str, carrier: int, label: str = "b") -> str:
    return f"{device_id}/carrier/{carrier}/branch/{label}"


def test_branches_of_one_antenna_path_are_one_matter_whenever_they_went_deaf() -> None:
    deaf = [alarm("deaf-branch", branch(device_id, n), 30.0 * n) for device_id in IDS[:3] for n in (1, 2)]
    together, *alone = matters_of(deaf, PATHS)
    assert (together.cause, together.shared) == ("deaf-branch-together", "Quay north")
    assert together.evidence["things_count"] == 4.0
    assert together.rows == tuple(f"{device_id}/channel/{n}" for device_id in IDS[:2] for n in (1, 2))
    assert [(matter.cause, matter.shared) for matter in alone] == [("deaf-branch", ""), ("deaf-branch", "")]


def test_without_paths_branches_of_one_label_that_went_deaf_together_are_one_matter() -> None:
    deaf = [
        alarm("deaf-branch", branch(device_id, 1), began) for device_id, began in zip(IDS, (1, 3, 9, 40), strict=True)
    ]
    other = alarm("deaf-branch", branch("quay-1", 1, "a"), 2.0)
    causes = [(matter.cause, len(matter.alarms)) for matter in matters_of([*deaf, other], TOPOLOGY)]
    assert causes == [("deaf-branch-together", 3), ("deaf-branch", 1), ("deaf-branch", 1)]


def test_clocks_of_one_rack_are_one_matter_and_an_unlocked_one_is_the_root() -> None:
    slips = [alarm("clock-slips", device_id, began) for device_id, began in zip(IDS, (1, 50, 90, 3), strict=True)]
    rack, alone = matters_of([*slips, alarm("clock-unlocked", "quay-2", 95.0)], PATHS)
    assert (rack.cause, rack.root, rack.shared, len(rack.alarms)) == ("clock-unlocked", "quay-2", "Rack 1", 4)
    assert (alone.root, alone.shared) == ("quay-4", "")


def test_what_is_wrong_with_one_carrier_is_one_matter_named_by_its_cause() -> None:
    damage = alarm("audio-damage", "quay-1/channel/1", 1.0, priority=1)
    (first,) = matters_of([damage], TOPOLOGY)
    weak = alarm("weak-rf", "quay-1/carrier/1", 2.0)
    (both,) = matters_of([damage, weak], TOPOLOGY, [first])
    assert (both.matter_id, both.cause, both.root) == (first.matter_id, "weak-rf", "quay-1/carrier/1")
    assert (both.priority, both.rows) == (1, ("quay-1/channel/1",))
    other = alarm("audio-damage", "quay-1/channel/2", 2.0)
    assert len(matters_of([damage, weak, other], TOPOLOGY, [both])) == 2


def test_a_hot_pack_shares_nothing() -> None:
    packs = [alarm("pack-overload", f"pack/quay-1-{n}", 1.0) for n in (1, 2)]
    assert [matter.cause for matter in matters_of(packs, TOPOLOGY)] == ["pack-overload", "pack-overload"]
