"""Plans put on the air over real simulated receivers: in a safe order, stopped, taken back, and told honestly."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fleet.errors import InvalidRequest, NotFound, RevisionStale
from fleet.model.command import CommandState
from fleet.model.inputs import ShowClock
from fleet.model.production import Production
from fleet.model.retune import ItemState, RetuneAsk, RetuneState, StepKind, StepState
from fleet.model.running_order import Cue, RunningOrder, ShowAct
from fleet.model.show import ShowStep
from tests.scenarios.retunes import (
    FIVE,
    FOUR,
    NAME,
    ONE,
    PACK_OF,
    THREE,
    TWO,
    carrier_of,
    ended,
    frequency,
    keep_plan,
    places,
    plan_of,
)
from tests.scenarios.whole_console import WholeConsole, evening, restarted

A, B, C, D = 518_100_000, 518_900_000, 519_700_000, 524_300_000
FREE = 521_300_000


def in_the_corner(test: Callable[[WholeConsole], Coroutine[Any, Any, None]]) -> Callable[[Path], None]:
    return evening(test, "stage-house")


async def begun(console: WholeConsole, **how: Any) -> str:
    return (await console.runtime.retuner.apply("Engineer", RetuneAsk(NAME, **how))).run_id


async def until(console: WholeConsole, run_id: str, number: int, state: StepState) -> None:
    """Until a step is so far, and no longer."""
    while (await console.runtime.retuner.run(run_id)).steps[number - 1].state is not state:
        await console.pass_time(0.05)


@in_the_corner
async def test_a_plan_with_a_circle_and_a_chain_goes_on_the_air_and_back_and_nobody_ever_meets(
    console: WholeConsole,
) -> None:
    before = places(console)
    assert before[ONE] == (A, A)
    await keep_plan(console, plan_of({ONE: B, TWO: A, THREE: FREE, FOUR: C}))
    preview = await console.runtime.retuner.preview(RetuneAsk(NAME))
    assert [(step.kind, step.channels[0], step.to_hz) for step in preview.steps][:2] == [
        (StepKind.MOVE, THREE, FREE),
        (StepKind.MOVE, FOUR, C),
    ]
    assert [write.address for write in preview.steps[0].writes] == [PACK_OF[THREE], carrier_of(THREE)]
    assert preview.steps[0].silent_at_most_s > 0
    assert (preview.aside, preview.fewest, preview.left_out, preview.orphans) == (1, True, (), ())
    assert places(console) == before, "a preview sends nothing"

    run_id = await begun(console, revision=preview.plan_revision)
    with pytest.raises(InvalidRequest, match="one goes at a time"):
        await begun(console)
    run = await ended(console, run_id)
    assert (run.state, run.reason) == (RetuneState.DONE, "")
    assert all(step.heard for step in run.steps), "each receiver names its pack again"
    assert places(console) == before | {ONE: (B, B), TWO: (A, A), THREE: (FREE, FREE), FOUR: (C, C)}
    assert {item.channels[0]: (item.state, item.stands_hz) for item in run.items}[TWO] == (ItemState.DONE, (A,))

    await console.runtime.retuner.roll_back("Engineer", run_id)
    run = await ended(console, run_id)
    assert run.state is RetuneState.ROLLED_BACK
    assert {item.state for item in run.items} == {ItemState.BACK}
    assert places(console) == before
    assert not run.can_roll_back
    kinds = [
        event["step"]["state"] for event in console.screen.events if event["kind"] == "retune changed" and event["step"]
    ]
    assert kinds.count("done") == 10, "every step is told: five ahead, five back"


@in_the_corner
async def test_a_pack_that_refuses_midway_stops_it_and_what_was_done_is_taken_back(console: WholeConsole) -> None:
    before = places(console)
    await keep_plan(console, plan_of({THREE: FREE, FOUR: C}))
    run_id = await begun(console)
    await until(console, run_id, 1, StepState.DONE)
    console.fault("turn_panel", address=PACK_OF[FOUR], changes={"standby": True})
    run = await ended(console, run_id)
    assert run.state is RetuneState.STOPPED
    assert run.steps[1].writes[0].state is CommandState.REFUSED
    assert run.steps[1].writes[1].state is None, "the receiver was left alone"
    assert "asleep" in run.reason
    assert {item.channels[0]: item.state for item in run.items} == {THREE: ItemState.DONE, FOUR: ItemState.FAILED}
    assert run.can_roll_back
    await console.runtime.retuner.roll_back("Engineer", run_id)
    run = await ended(console, run_id)
    assert run.state is RetuneState.ROLLED_BACK
    assert places(console) == before


@in_the_corner
async def test_a_receiver_lost_between_pack_and_receiver_leaves_a_half_done_link_that_is_told_and_taken_back(
    console: WholeConsole,
) -> None:
    before = places(console)
    await keep_plan(console, plan_of({THREE: FREE}))
    run_id = await begun(console)
    while (await console.runtime.retuner.run(run_id)).steps[0].writes[0].state is not CommandState.CONFIRMED:
        await console.pass_time(0.05)
    console.fault("silence", device_id="house-2")
    run = await ended(console, run_id)
    assert run.state is RetuneState.STOPPED
    assert (run.items[0].stands_hz, places(console)[THREE]) == ((C, FREE), (FREE, C)), "both ends are told"
    console.fault("speak", device_id="house-2")
    await console.pass_time(8.0)
    await console.runtime.retuner.roll_back("Engineer", run_id)
    run = await ended(console, run_id)
    assert run.state is RetuneState.ROLLED_BACK
    assert places(console) == before


@in_the_corner
async def test_a_pack_lost_midway_is_unknown_until_it_can_be_read_and_nothing_is_sent_twice(
    console: WholeConsole,
) -> None:
    await keep_plan(console, plan_of({THREE: FREE, FOUR: C}))
    run_id = await begun(console)
    await until(console, run_id, 1, StepState.DONE)
    console.fault("hold_return_link", pack=PACK_OF[FOUR])
    run = await ended(console, run_id)
    assert run.state is RetuneState.STOPPED
    assert run.steps[1].state is StepState.UNKNOWN
    assert {item.channels[0]: item.state for item in run.items}[FOUR] is ItemState.UNKNOWN
    await console.runtime.retuner.roll_back("Engineer", run_id)
    run = await ended(console, run_id, watched=False)
    assert run.state is RetuneState.PARTLY_BACK
    assert "look on both frequencies" in run.steps[2].reason
    assert run.steps[3].state is StepState.FAILED, "its old place may be taken by the one that is unknown"
    assert frequency(console, PACK_OF[THREE]) == FREE
    sent = [event["command"]["command_id"] for event in console.screen.events if event["kind"] == "command changed"]
    assert len({one for one in sent if one.startswith(run_id)}) == 3
    console.fault("restore_return_link", pack=PACK_OF[FOUR])
    while (await console.runtime.retuner.run(run_id)).steps[1].writes[0].state is CommandState.UNKNOWN:
        await console.pass_time(0.5)
    await console.runtime.retuner.roll_back("Engineer", run_id)
    run = await ended(console, run_id)
    assert run.state is RetuneState.ROLLED_BACK
    assert places(console)[THREE] == (C, C)
    assert places(console)[FOUR] == (D, D)


@in_the_corner
async def test_what_can_t_be_moved_is_left_out_with_its_reason_and_by_choice_the_rest_goes(
    console: WholeConsole,
) -> None:
    console.fault("drop_return_link", pack=PACK_OF[FOUR])
    await console.pass_time(4.0)
    await keep_plan(console, plan_of({FOUR: C, THREE: D, ONE: FREE}))
    preview = await console.runtime.retuner.preview(RetuneAsk(NAME))
    assert {each.channels[0]: each.reason for each in preview.left_out} == {
        FOUR: "pack/k04 is out of reach of its return link",
        THREE: "its new frequency is held by what stays where it is",
    }
    with pytest.raises(InvalidRequest, match="out of reach"):
        await begun(console)
    with pytest.raises(NotFound):
        await console.runtime.retuner.preview(RetuneAsk(NAME, channels=frozenset({ONE, TWO})))
    with pytest.raises(RevisionStale):
        await begun(console, revision=7)
    run = await ended(console, await begun(console, only_what_can=True))
    assert run.state is RetuneState.DONE
    assert places(console)[ONE] == (FREE, FREE)
    assert {item.state for item in run.items if item.channels[0] != ONE} == {ItemState.LEFT_OUT}


@in_the_corner
async def test_without_a_free_frequency_a_pack_sleeps_by_choice_and_wakes_on_its_new_one(console: WholeConsole) -> None:
    windows = [{"start_hz": hz, "stop_hz": hz} for hz in (A, B)]
    await keep_plan(console, plan_of({ONE: B, TWO: A}, windows=windows))
    with pytest.raises(InvalidRequest, match="no frequency is free"):
        await begun(console)
    run = await ended(console, await begun(console, may_sleep=True))
    assert run.state is RetuneState.DONE
    assert [step.kind for step in run.steps] == [StepKind.SLEEP, StepKind.MOVE, StepKind.WAKE]
    assert places(console)[ONE] == (B, B)
    assert places(console)[TWO] == (A, A)
    assert all("anywhere a person is" in run.steps[number].cautions[0] for number in (0, 2))
    await console.runtime.retuner.roll_back("Engineer", run.run_id)
    assert (await ended(console, run.run_id)).state is RetuneState.ROLLED_BACK
    assert places(console)[ONE] == (A, A)


@in_the_corner
async def test_a_pack_without_a_return_link_waits_for_a_hand_and_cancelling_gives_it_up(console: WholeConsole) -> None:
    was_hz = frequency(console, PACK_OF[FIVE])
    await keep_plan(console, plan_of({FIVE: was_hz + 800_000}))
    preview = await console.runtime.retuner.preview(RetuneAsk(NAME))
    assert preview.steps[0].by_hand
    run_id = await begun(console)
    await console.pass_time(1.5)
    run = await console.runtime.retuner.run(run_id)
    assert run.steps[0].writes[0].state is CommandState.WAITING_FOR_HAND
    await console.runtime.retuner.cancel(run_id)
    run = await ended(console, run_id)
    assert run.state is RetuneState.CANCELLED
    assert places(console)[FIVE] == (was_hz, was_hz)
    run_id = await begun(console)
    await console.pass_time(1.5)
    console.fault("hand", address=PACK_OF[FIVE])
    assert (await ended(console, run_id)).state is RetuneState.DONE
    assert places(console)[FIVE] == (was_hz + 800_000, was_hz + 800_000)


def test_a_run_that_a_restart_cut_off_is_told_and_goes_on_by_nobody_s_will_but_a_person_s(tmp_path: Path) -> None:
    kept: list[str] = []

    async def before(console: WholeConsole) -> None:
        await keep_plan(console, plan_of({THREE: FREE, FOUR: C, ONE: D}))
        kept.append(await begun(console))
        await until(console, kept[0], 1, StepState.DONE)

    async def after(console: WholeConsole) -> None:
        (run_id,) = kept
        run = await console.runtime.retuner.run(run_id)
        assert run.state is RetuneState.INTERRUPTED
        assert "nothing goes on by itself" in run.reason
        assert [facts.run_id for facts in console.runtime.retuner.runs()] == [run_id]
        assert run.steps[0].state is StepState.DONE
        assert run.steps[2].state is StepState.PLANNED
        there = places(console)
        assert there[THREE] == (FREE, FREE)
        await console.pass_time(4.0)
        assert places(console)[ONE] == (A, A), "nothing was resumed"
        await console.runtime.retuner.roll_back("Engineer", run_id)
        run = await ended(console, run_id)
        assert run.state is RetuneState.ROLLED_BACK
        assert (places(console)[THREE], places(console)[FOUR]) == ((C, C), (D, D))

    restarted(tmp_path, before, after, "stage-house")


@in_the_corner
async def test_it_stops_between_steps_when_somebody_cancels_and_when_the_show_begins(console: WholeConsole) -> None:
    runtime = console.runtime
    await keep_plan(console, plan_of({THREE: FREE, FOUR: C}))
    run_id = await begun(console)
    await until(console, run_id, 1, StepState.RUNNING)
    await runtime.retuner.cancel(run_id)
    run = await ended(console, run_id)
    assert (run.state, [step.state for step in run.steps]) == (
        RetuneState.CANCELLED,
        [StepState.DONE, StepState.PLANNED],
    )
    assert places(console)[FOUR] == (D, D)
    assert frequency(console, PACK_OF[THREE]) == frequency(console, carrier_of(THREE)), "no step is left half done"
    await runtime.retuner.roll_back("Engineer", run_id)
    assert (await ended(console, run_id)).state is RetuneState.ROLLED_BACK

    run_id = await begun(console)
    await until(console, run_id, 1, StepState.RUNNING)
    console.fault("turn_panel", address=carrier_of(FOUR), changes={"frequency_hz": D + 800_000})
    run = await ended(console, run_id, watched=False)
    assert run.state is RetuneState.STOPPED
    assert "house-2/carrier/2 was set otherwise meanwhile" in run.reason
    assert frequency(console, PACK_OF[FOUR]) == D, "nothing was sent to its pack"

    order = RunningOrder((ShowAct("one", "Act I"),), (Cue("lamp", "The lamp is lit", "one", 0, 600, (1, 2)),))

    def with_order(production: Production) -> Production:
        return replace(production, order=order)

    await runtime.editor.change_production("Engineer", runtime.editor.production()[1], with_order)
    await keep_plan(console, plan_of({ONE: FREE + 800_000, TWO: FREE + 1_600_000}), "later")
    run_id = (await runtime.retuner.apply("Engineer", RetuneAsk("later"))).run_id
    await runtime.move_show(ShowClock(runtime.now(), "Operator", ShowStep.ADVANCE, None, runtime.ahead().show.revision))
    run = await ended(console, run_id)
    assert (run.state, run.steps[1].state) == (RetuneState.STOPPED, StepState.PLANNED)
    assert "the show is live" in run.reason
    with pytest.raises(InvalidRequest, match="the show is live"):
        await runtime.retuner.roll_back("Engineer", run_id)
