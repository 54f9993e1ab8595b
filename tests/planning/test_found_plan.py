"""What a search found, in its plan: locks and channels stay with their frequencies, the others are dealt out."""

from __future__ import annotations

from dataclasses import replace

from fleet.model.job import BestSoFar
from fleet.model.plan import Plan, PlanCarrier, PlanFault, PlanVerdict, Relaxation
from fleet.planning.coordination.found_plan import dealt, stands_as_well, with_found, with_gains

MHZ = 1_000_000


def carrier(group: str, mhz: int, channel: str | None = None, *, locked: bool = False) -> PlanCarrier:
    return PlanCarrier(group, group, mhz * MHZ, locked, channel)


def test_who_stays_keeps_lock_and_channel_and_the_others_get_what_is_left_in_order() -> None:
    before = [carrier("House", 470, "a/channel/1"), carrier("House", 474, "a/channel/2", locked=True)]
    before += [carrier("House", 478, "a/channel/3"), carrier("Quay", 480, "b/channel/1")]
    found = [carrier("House", hz) for hz in (490, 474, 472)] + [carrier("Quay", 470)]
    assert dealt(before, found) == (
        carrier("Quay", 470, "b/channel/1"),
        carrier("House", 472, "a/channel/1"),
        carrier("House", 474, "a/channel/2", locked=True),
        carrier("House", 490, "a/channel/3"),
    )


def test_a_channel_beyond_the_carriers_is_left_without_one_and_none_is_given_twice() -> None:
    before = [carrier("House", 470, "a/channel/1"), carrier("House", 472, "a/channel/2")]
    assert dealt(before, [carrier("House", 480)]) == (carrier("House", 480, "a/channel/1"),)
    more = dealt(before, [carrier("House", hz) for hz in (480, 481, 482)])
    assert [each.channel for each in more] == ["a/channel/1", "a/channel/2", None]


def test_the_plan_says_how_it_was_found() -> None:
    best = BestSoFar((carrier("House", 470),), 2, 50_000, 17)
    plan = with_found(Plan("The Lamp", {"raster_hz": 25_000}, complete=True), best, (4, 2.5))
    assert (plan.complete, plan.worst_margin_hz, plan.seed, plan.steps, plan.seconds) == (False, 50_000, 4, 17, 2.5)
    assert (plan.title, plan.request) == ("The Lamp", {"raster_hz": 25_000})


def test_what_relaxations_would_gain_is_told_of_a_plan_of_as_many_carriers_and_of_no_other() -> None:
    plan = Plan("The Lamp", {}, (carrier("House", 470),))
    gains = (Relaxation("no exclusion", 2, 1),)
    same = BestSoFar((carrier("House", 480),), 2, 0, 1, relaxations=gains)
    assert with_gains(plan, same) == replace(plan, relaxations=gains)
    fewer = BestSoFar((), 2, 0, 1, relaxations=gains)
    assert with_gains(plan, fewer) == plan
    assert with_gains(replace(plan, relaxations=gains), replace(same, relaxations=())).relaxations == gains


def test_a_plan_stands_as_well_by_its_carriers_then_by_its_margin_and_never_with_a_fault() -> None:
    plan = Plan("The Lamp", {}, (carrier("House", 470), carrier("House", 474)))
    fault = PlanFault("spacing", 470 * MHZ, 1)
    one, two = plan.carriers[:1], plan.carriers
    assert stands_as_well(plan, PlanVerdict((), 50_000), BestSoFar(two, 2, 50_000, 1))
    assert stands_as_well(plan, PlanVerdict((), 0), BestSoFar(one, 2, 50_000, 1))
    assert stands_as_well(plan, PlanVerdict((), None), BestSoFar(two, 2, 50_000, 1))
    assert not stands_as_well(plan, PlanVerdict((), 25_000), BestSoFar(two, 2, 50_000, 1))
    assert not stands_as_well(plan, PlanVerdict((), 0), BestSoFar((*two, two[0]), 3, 0, 1))
    assert not stands_as_well(plan, PlanVerdict((fault,), 50_000), BestSoFar(one, 2, 0, 1))
