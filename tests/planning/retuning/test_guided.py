"""The guided change as a table: every way through it ends, nothing moves unasked, and the page shows the same table."""

from __future__ import annotations

from pathlib import Path

from fleet.model.retune import RetuneState
from fleet.planning.retuning.guided import ENDS, PROMPTS, TRANSITIONS, Happening, Stage, next_stage

PAGE = Path(__file__).parents[3] / "docs" / "apply.md"
S, H = Stage, Happening


def led(*happenings: Happening) -> Stage:
    stage = S.OFF_MIC
    for happening in happenings:
        stage = next_stage(stage, happening)
    return stage


def test_the_good_way() -> None:
    assert led(H.YES, H.YES, H.CONFIRMED, H.CONFIRMED, H.NAMED, H.YES, H.YES) is S.DONE


def test_nothing_moves_before_the_performer_is_off_the_microphone_and_the_desk_has_muted() -> None:
    assert led(H.NO) is S.UNCHANGED
    assert led(H.YES, H.NO) is S.UNCHANGED
    assert led(H.YES, H.YES) is S.PACK, "the pack goes first"
    assert led(H.YES, H.YES, H.CONFIRMED) is S.RECEIVER


def test_a_receiver_that_names_nobody_or_sounds_bad_takes_both_back() -> None:
    moved = (H.YES, H.YES, H.CONFIRMED, H.CONFIRMED)
    assert led(*moved, H.NOT_NAMED) is S.BACK
    assert led(*moved, H.NAMED, H.NO) is S.BACK
    assert led(*moved, H.NOT_NAMED, H.CONFIRMED) is S.ROLLED_BACK


def test_what_is_unknown_is_looked_for_and_never_sent_again() -> None:
    unknown = (H.YES, H.YES, H.UNKNOWN)
    assert led(*unknown) is S.LOOK
    assert led(*unknown, H.OLD) is S.UNCHANGED
    assert led(*unknown, H.NEW) is S.RECEIVER
    assert ENDS[led(*unknown, H.NEITHER)][0] is RetuneState.STOPPED
    assert all(S.PACK not in after.values() for stage, after in TRANSITIONS.items() if stage is not S.DESK_MUTED)


def test_every_stage_is_reached_and_every_way_can_come_to_an_end() -> None:
    reached, ahead = {S.OFF_MIC}, [S.OFF_MIC]
    while ahead:
        after = set(TRANSITIONS.get(ahead.pop(), {}).values()) - reached
        reached |= after
        ahead += after
    assert reached == set(Stage)
    assert set(ENDS) == set(Stage) - set(TRANSITIONS)
    ending = set(ENDS)
    while more := {stage for stage, after in TRANSITIONS.items() if ending & set(after.values())} - ending:
        ending |= more
    assert ending == set(Stage)


def test_a_question_understands_exactly_the_answers_that_its_stage_knows() -> None:
    assert {stage: set(prompt.answers) for stage, prompt in PROMPTS.items()} == {
        stage: {happening.value for happening in TRANSITIONS[stage]} for stage in PROMPTS
    }
    assert all(prompt.code == stage for stage, prompt in PROMPTS.items())


def test_the_page_shows_this_table() -> None:
    rows = [
        f"| {stage.value} | {happening.value} | {after.value} |"
        for stage, afters in TRANSITIONS.items()
        for happening, after in afters.items()
    ]
    shown = [line for line in PAGE.read_text(encoding="utf-8").splitlines() if line.count("|") == 4]
    assert shown[2:] == rows
