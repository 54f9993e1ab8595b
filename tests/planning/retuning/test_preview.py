"""What a preview tells: who moves with whom, who mutes, who is left alone, and of what can't be done the reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from fleet.model.capability import Capability, Held
from fleet.model.device import ContactState, Lease
from fleet.model.retune import RetuneOrphan, StepKind
from fleet.model.settings import Desired
from fleet.planning.retuning.preview import HANDS, HEARS_ANOTHER, UNSEEN, WAKES
from tests.planning.retuning.small_rig import FLAG, MHZ, Rack

ISOLATED = [{"zones": ["House", "Quay"]}]


def moves(rack: Rack, wanted: dict[str, int], **how: Any) -> list[tuple[str, str]]:
    found = rack.preview(wanted, **how)
    assert found.left_out == ()
    return [(step.kind.value, write.address) for step in found.steps for write in step.writes]


def test_the_writes_of_a_step_with_what_stood_before_and_how_long_it_may_be_silent() -> None:
    found = Rack().preview({"r1": 515 * MHZ, "r2": 511 * MHZ})
    (step,) = found.steps
    assert [(write.address, write.changes, write.before) for write in step.writes] == [
        ("pack/1", {"frequency_hz": 515 * MHZ}, {"frequency_hz": 510 * MHZ}),
        ("r1/carrier/1", {"frequency_hz": 515 * MHZ}, {"frequency_hz": 510 * MHZ}),
    ]
    assert step.silent_at_most_s == 14.0, "two writes, each taken within 2 s and confirmed within 5 s"
    assert (found.already, found.without_channel, found.seconds_at_most) == (1, 0, 14.0)


def test_what_does_not_mute_is_silent_for_no_time() -> None:
    rack = Rack(1)
    for address in ("pack/1", "r1/carrier/1"):
        rack.change(address, "frequency_hz", mutes=False)
    assert rack.preview({"r1": 515 * MHZ}).steps[0].silent_at_most_s == 0.0


def test_a_backup_receiver_that_the_plan_leaves_out_is_orphaned_and_keeps_others_off() -> None:
    rack = Rack(2)
    rack.add("backup", "pack/1", 510 * MHZ)
    found = rack.preview({"r1": 515 * MHZ, "r2": 510 * MHZ})
    assert found.orphans == (RetuneOrphan("backup/channel/1", "pack/1", "r1/carrier/1"),)
    assert [step.link_id for step in found.steps] == ["r1/carrier/1"]
    assert "backup/carrier/1, which the plan doesn't move" in found.left_out[0].reason


def test_a_receiver_that_hears_the_pack_by_its_key_is_orphaned_too() -> None:
    rack = Rack(2)
    rack.add("far", "pack/9", 510 * MHZ)
    rack.identities["far/channel/1"] = "pack/1"
    assert rack.preview({"r1": 515 * MHZ}).orphans == (RetuneOrphan("far/channel/1", "pack/1", "r1/carrier/1"),)


def test_receivers_of_one_pack_that_are_planned_together_move_as_one() -> None:
    rack = Rack(1)
    rack.add("backup", "pack/1", 510 * MHZ)
    rack.zones["backup/channel/1"] = "Quay"
    wanted = {"r1": 515 * MHZ, "backup": 515 * MHZ}
    assert moves(rack, wanted, isolation=ISOLATED) == [
        ("move", "pack/1"),
        ("move", "r1/carrier/1"),
        ("move", "backup/carrier/1"),
    ]
    apart = rack.preview({"r1": 515 * MHZ, "backup": 516 * MHZ}, isolation=ISOLATED)
    assert "share a carrier or a pack" in apart.left_out[0].reason


def test_zones_that_do_not_hear_one_another_may_share_a_frequency() -> None:
    rack = Rack(2)
    rack.zones["r2/channel/1"] = "Quay"
    assert rack.preview({"r1": 515 * MHZ, "r2": 515 * MHZ}).left_out != ()
    assert len(moves(rack, {"r1": 515 * MHZ, "r2": 515 * MHZ}, isolation=ISOLATED)) == 4


def test_somebody_else_s_carrier_that_the_plan_protects_keeps_off_and_is_named() -> None:
    protected = [{"frequency_hz": 515_200_000, "spacing_hz": 300_000, "words": "the harbour radio"}]
    found = Rack(1).preview({"r1": 515 * MHZ}, protected=protected)
    assert found.left_out[0].reason == "its new frequency is held by the harbour radio"
    rack = Rack(2)
    rack.zones["r2/channel/1"] = "Quay"
    elsewhere: dict[str, Any] = {"protected": [{**protected[0], "zone": "Quay"}], "isolation": ISOLATED}
    assert rack.preview({"r1": 515 * MHZ, "r2": 512 * MHZ}, **elsewhere).left_out == ()
    assert rack.preview({"r1": 514 * MHZ, "r2": 515 * MHZ}, **elsewhere).left_out[0].link_id == "r2/carrier/1"


def test_two_scenes_on_one_frequency_are_not_put_there_both_and_it_says_why() -> None:
    rack = Rack(2)
    rack.zones["r2/channel/1"] = "Quay"
    scenes = [{"name": "one", "groups": ["House"]}, {"name": "two", "groups": ["Quay"]}]
    found = rack.preview({"r1": 515 * MHZ, "r2": 515 * MHZ}, scene=scenes)
    assert [step.link_id for step in found.steps] == ["r1/carrier/1"]
    assert found.left_out[0].reason.startswith("the plan has r1/carrier/1 on that frequency, too")


def test_a_channel_that_nobody_has_is_left_out_by_name() -> None:
    found = Rack(1).preview({"r1": 515 * MHZ, "r9": 516 * MHZ})
    assert [(each.link_id, each.to_hz) for each in found.left_out] == [("r9/channel/1", 516 * MHZ)]


def out_of_contact(rack: Rack) -> None:
    view = rack.views["r1"]
    rack.views["r1"] = replace(view, contact=replace(view.contact, state=ContactState.LOST))


def read_only(rack: Rack) -> None:
    description = rack.views["r1"].description
    assert description is not None
    rack.views["r1"] = replace(rack.views["r1"], description=replace(description, read_only=True))


def leased_elsewhere(rack: Rack) -> None:
    rack.views["r1"] = replace(rack.views["r1"], lease=Lease(ours=False, holder="the other desk"))


def hopping(rack: Rack) -> None:
    rack.change("r1/carrier/1", "frequency_hz", writable=False)


def guarded(rack: Rack) -> None:
    rack.change("r1/carrier/1", "frequency_hz", guarded=True)


def asleep(rack: Rack) -> None:
    rack.reported["pack/1"]["standby"] = True


def far_away(rack: Rack) -> None:
    rack.readings["pack/1", "return_link"] = 0.5


def only_known_from_before(rack: Rack) -> None:
    rack.blurred.add("pack/1")


def under_way(rack: Rack) -> None:
    rack.desired["pack/1"] = Desired("frequency_hz", 512 * MHZ, "c-1")


def silent(rack: Rack) -> None:
    del rack.reported["pack/1"]["frequency_hz"]


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (out_of_contact, "r1, which controls pack/1, is out of contact"),
        (read_only, "r1 allows reading only"),
        (leased_elsewhere, "another console writes to r1"),
        (hopping, "the frequency of r1/carrier/1 can be read and not written"),
        (guarded, "r1/carrier/1 is guarded"),
        (asleep, "pack/1 is asleep, and would come back on its old frequency"),
        (far_away, "pack/1 is out of reach of its return link"),
        (only_known_from_before, "pack/1 is out of reach of its return link"),
        (under_way, "what becomes of the last change of pack/1 is not known yet"),
        (silent, "pack/1 has not reported its frequency"),
    ],
)
def test_what_can_t_be_moved_says_why(change: Callable[[Rack], None], reason: str) -> None:
    rack = Rack(1)
    change(rack)
    found = rack.preview({"r1": 515 * MHZ})
    assert found.steps == ()
    assert found.left_out[0].reason.startswith(reason)


def test_a_frequency_beyond_what_an_end_can_tune_is_refused_with_its_limits() -> None:
    found = Rack(1).preview({"r1": 610 * MHZ}, window=[{"start_hz": 500 * MHZ, "stop_hz": 620 * MHZ}])
    assert found.left_out[0].reason == "pack/1 tunes from 500000000 to 600000000 Hz in steps of 25000, not to 610000000"


def test_a_pack_set_by_hand_and_one_that_nobody_knows_are_said() -> None:
    rack = Rack(1)
    rack.change("pack/1", "frequency_hz", needs_hand=True)
    rack.add("r2", None, 511 * MHZ)
    by_hand, unseen = rack.preview({"r1": 515 * MHZ, "r2": 516 * MHZ}).steps
    assert (by_hand.by_hand, by_hand.cautions) == (True, (HANDS,))
    assert (unseen.by_hand, unseen.cautions) == (True, (UNSEEN,))


NOWHERE_FREE = [{"start_hz": hz * MHZ, "stop_hz": hz * MHZ} for hz in (510, 511)]


def test_a_pack_that_takes_a_frequency_only_while_awake_wakes_onto_it_in_one_write_after_its_receiver() -> None:
    rack = Rack(2)
    assert rack.preview({"r1": 511 * MHZ, "r2": 510 * MHZ}, window=NOWHERE_FREE).steps == ()
    sleep, move, wake = rack.preview({"r1": 511 * MHZ, "r2": 510 * MHZ}, may_sleep=True, window=NOWHERE_FREE).steps
    assert [step.kind for step in (sleep, move, wake)] == [StepKind.SLEEP, StepKind.MOVE, StepKind.WAKE]
    assert [dict(write.changes) for write in sleep.writes] == [{"standby": True}]
    assert sleep.cautions == (WAKES, HEARS_ANOTHER)
    assert [dict(write.changes) for write in wake.writes] == [
        {"frequency_hz": wake.to_hz},
        {"frequency_hz": wake.to_hz, "standby": False},
    ]
    assert wake.writes[1].before == {"frequency_hz": wake.from_hz[0], "standby": True}


def test_a_pack_whose_transmitter_can_be_switched_off_is_set_before_it_comes_back() -> None:
    rack = Rack(2)
    for pack in ("pack/1", "pack/2"):
        rack.fields[pack]["rf_on"] = Capability((pack,), "rf_on", FLAG, Held.PACK)
        rack.reported[pack]["rf_on"] = True
    sleep, _, wake = rack.preview({"r1": 511 * MHZ, "r2": 510 * MHZ}, may_sleep=True, window=NOWHERE_FREE).steps
    assert dict(sleep.writes[0].changes) == {"rf_on": False}
    assert [dict(write.changes) for write in wake.writes][1:] == [{"frequency_hz": wake.to_hz}, {"rf_on": True}]
