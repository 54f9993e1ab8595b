"""One channel moved in the middle of a show: asked, moved, heard, or taken back; and what is unknown stays so."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from fleet.errors import InvalidRequest, NotFound, ValueRefused
from fleet.model.command import CommandState
from fleet.model.inputs import ShowClock
from fleet.model.production import Production
from fleet.model.retune import RetuneAsk, RetuneRun, RetuneState, RetuneWanted, StepKind
from fleet.model.running_order import Cue, RunningOrder, ShowAct
from fleet.model.show import ShowStep
from tests.scenarios.retunes import (
    FOUR,
    NAME,
    ONE,
    PACK_OF,
    THREE,
    TWO,
    asked,
    ended,
    frequency,
    keep_plan,
    places,
    plan_of,
)
from tests.scenarios.whole_console import WholeConsole, evening

A, B, C, D = 518_100_000, 518_900_000, 519_700_000, 524_300_000
QUIET, OLD, LOUD = 521_300_000, 522_100_000, 522_900_000
ORDER = RunningOrder((ShowAct("one", "Act I"),), (Cue("lamp", "The lamp is lit", "one", 0, 600, (1, 2)),))


def spare(console: WholeConsole, hz: int, rank: int, age_s: int = 60, quiet_dbm: float = -104.0) -> dict[str, Any]:
    at_us = console.runtime.now().utc_us - age_s * 1_000_000
    where = {"group": "Cast", "zone": "House", "frequency_hz": hz, "rank": rank}
    return {**where, "quiet_at_utc_us": at_us, "quiet_dbm": quiet_dbm}


async def curtain_up(console: WholeConsole) -> None:
    """The show runs from here on, with a plan that has one verified spare among three."""

    def with_order(production: Production) -> Production:
        return replace(production, order=ORDER)

    runtime = console.runtime
    await runtime.editor.change_production("Engineer", runtime.editor.production()[1], with_order)
    await runtime.move_show(ShowClock(runtime.now(), "Operator", ShowStep.ADVANCE, None, runtime.ahead().show.revision))
    spares = [spare(console, OLD, 1, age_s=660), spare(console, LOUD, 2, quiet_dbm=-60.0), spare(console, QUIET, 3)]
    await keep_plan(console, plan_of({ONE: A, TWO: B, THREE: C, FOUR: D}, spares=spares))


async def begun(console: WholeConsole, channel: str, frequency_hz: int | None = None) -> str:
    wanted = RetuneWanted(NAME, channel, frequency_hz)
    run = await console.runtime.retuner.guide("Engineer", wanted)
    assert run.prompt is not None, "the first question comes with the answer"
    assert run.prompt.code == "off-mic"
    return run.run_id


async def answer(console: WholeConsole, run_id: str, code: str, what: str) -> RetuneRun:
    await asked(console, run_id, code)
    return await console.runtime.retuner.answer(run_id, code, what)


def in_the_corner(test: Any) -> Any:
    return evening(test, "stage-house")


@in_the_corner
async def test_a_channel_goes_to_the_one_verified_spare_with_every_question_answered(console: WholeConsole) -> None:
    await curtain_up(console)
    with pytest.raises(InvalidRequest, match="the show is live"):
        await console.runtime.retuner.apply("Engineer", RetuneAsk(NAME))
    with pytest.raises(ValueRefused, match="no verified spare"):
        await begun(console, ONE, OLD)
    with pytest.raises(NotFound):
        await begun(console, "quay-1/channel/2")

    run_id = await begun(console, ONE)
    with pytest.raises(ValueRefused):
        await answer(console, run_id, "off-mic", "perhaps")
    with pytest.raises(InvalidRequest, match="doesn't ask that"):
        await console.runtime.retuner.answer(run_id, "unmute", "yes")
    await answer(console, run_id, "off-mic", "yes")
    await asked(console, run_id, "desk-muted")
    assert places(console)[ONE] == (A, A), "nothing moves before the desk has answered"
    await answer(console, run_id, "desk-muted", "yes")
    await answer(console, run_id, "listen", "yes")
    assert places(console)[ONE] == (QUIET, QUIET)
    await answer(console, run_id, "unmute", "yes")
    run = await ended(console, run_id)
    assert (run.state, run.reason) == (RetuneState.DONE, "")
    assert run.answered == {"off-mic": "yes", "desk-muted": "yes", "listen": "yes", "unmute": "yes"}
    confirmed = [write.address for step in run.steps for write in step.writes if write.state is CommandState.CONFIRMED]
    assert confirmed == [PACK_OF[ONE], "house-1/carrier/1"]

    await console.runtime.retuner.roll_back("Engineer", run_id)
    assert (await ended(console, run_id)).state is RetuneState.ROLLED_BACK
    assert places(console)[ONE] == (A, A)


@in_the_corner
async def test_a_pack_that_is_not_heard_in_three_seconds_takes_both_back(console: WholeConsole) -> None:
    await curtain_up(console)
    run_id = await begun(console, TWO)
    await answer(console, run_id, "off-mic", "no")
    run = await ended(console, run_id)
    assert (run.state, places(console)[TWO]) == (RetuneState.CANCELLED, (B, B))

    run_id = await begun(console, TWO)
    await answer(console, run_id, "off-mic", "yes")
    await answer(console, run_id, "desk-muted", "yes")
    while frequency(console, "house-1/carrier/2") != QUIET:
        await console.pass_time(0.05)
    console.fault("turn_panel", address=PACK_OF[TWO], changes={"frequency_hz": 530_100_000})
    run = await ended(console, run_id, watched=False)
    assert run.state is RetuneState.ROLLED_BACK
    assert "not heard within three seconds" in run.reason
    assert "desk" in run.reason
    assert [step.kind for step in run.steps[2:]] == [StepKind.BACK, StepKind.BACK]
    assert places(console)[TWO] == (B, B)


@in_the_corner
async def test_a_look_grows_old_meanwhile_and_a_pack_of_which_nobody_knows_is_looked_for_on_both_frequencies(
    console: WholeConsole,
) -> None:
    await curtain_up(console)
    await keep_plan(console, plan_of({FOUR: D}, spares=[spare(console, QUIET, 1, age_s=598)]), "old")
    run_id = (await console.runtime.retuner.guide("Engineer", RetuneWanted("old", FOUR))).run_id
    await answer(console, run_id, "off-mic", "yes")
    await console.pass_time(3.0)
    await answer(console, run_id, "desk-muted", "yes")
    run = await ended(console, run_id)
    assert (run.state, places(console)[FOUR]) == (RetuneState.CANCELLED, (D, D))
    assert "older than ten minutes by now" in run.reason

    run_id = await begun(console, THREE)
    await answer(console, run_id, "off-mic", "yes")
    console.fault("hold_return_link", pack=PACK_OF[THREE])
    await answer(console, run_id, "desk-muted", "yes")
    run = await asked(console, run_id, "look")
    assert run.steps[0].writes[0].state is CommandState.UNKNOWN
    assert places(console)[THREE] == (C, C), "the receiver stays where the pack was last heard"
    await console.runtime.retuner.answer(run_id, "look", "old")
    run = await ended(console, run_id)
    assert run.state is RetuneState.CANCELLED
    assert "tell the desk" in run.reason
    sent = [event["command"]["command_id"] for event in console.screen.events if event["kind"] == "command changed"]
    assert {one for one in sent if one.startswith(run_id)} == {f"{run_id}-1-1"}, "nothing was sent to it again"
