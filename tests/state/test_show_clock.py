"""The show clock against the hand-written evening: every step from every place, triggers, restarts, documents."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.errors import CommandIdReused, LimitReached, NotFound, RevisionStale, ValueRefused
from fleet.model.event import ShowMoved
from fleet.model.inputs import ShowClock
from fleet.model.moment import Moment
from fleet.model.production import NO_PRODUCTION
from fleet.model.show import NO_SHOW, ShowPhase, ShowStep
from fleet.state.show_clock import TRIGGERS_MAXIMUM, ShowClockBook
from tests.planning.evening import BEGAN, CUES, PRODUCTION, after

ADVANCE, BACK, JUMP, RESET = ShowStep.ADVANCE, ShowStep.BACK, ShowStep.JUMP, ShowStep.RESET


def move(
    book: ShowClockBook, step: ShowStep, minutes: float, cue_id: str | None = None, *, trigger: str = ""
) -> tuple[ShowMoved, ...]:
    seen = None if trigger else book.place.revision
    return book.move(ShowClock(after(minutes), "Operator", step, cue_id, seen, trigger), PRODUCTION)


def walked(*steps: tuple[ShowStep, float]) -> ShowClockBook:
    book = ShowClockBook()
    for step, minutes in steps:
        move(book, step, minutes)
    return book


def test_an_evening_from_before_it_to_its_end() -> None:
    book = ShowClockBook()
    assert book.place.phase is ShowPhase.BEFORE
    seen = []
    for number in range(len(CUES)):
        (event,) = move(book, ADVANCE, 20 * number)
        assert event.show is book.place
        seen.append(book.place.cue_id)
        assert book.place.started is not None
        assert book.place.started.at == after(20 * number)
    assert seen == [cue.cue_id for cue in CUES]
    assert book.place.zero == BEGAN
    move(book, ADVANCE, 120)
    assert (book.place.phase, book.place.cue_id, book.place.revision) == (ShowPhase.OVER, None, 6)
    with pytest.raises(ValueRefused, match="over"):
        move(book, ADVANCE, 121)
    move(book, BACK, 122)
    assert (book.place.phase, book.place.cue_id) == (ShowPhase.RUNNING, "dawn")


def test_a_step_back_finds_the_beginning_of_the_cue_before() -> None:
    book = walked((ADVANCE, 0), (ADVANCE, 10), (BACK, 10.5))
    assert book.place.started is not None
    assert (book.place.cue_id, book.place.started.at) == ("quay", after(0))
    twice = walked((ADVANCE, 0), (ADVANCE, 10), (ADVANCE, 40), (BACK, 41), (BACK, 42))
    assert twice.place.started is not None
    assert (twice.place.cue_id, twice.place.started.at) == ("quay", after(42))  # Its beginning is no longer known.


def test_a_jump_goes_anywhere_and_a_show_that_begins_in_its_midst_is_on_time() -> None:
    book = ShowClockBook()
    move(book, JUMP, 30, "storm")
    assert book.place.zero == after(30 - 65)
    move(book, JUMP, 31, "quay")
    assert (book.place.cue_id, book.place.zero) == ("quay", after(30 - 65))
    with pytest.raises(NotFound):
        move(book, JUMP, 32, "encore")
    with pytest.raises(NotFound):
        move(book, JUMP, 32)
    move(book, RESET, 33)
    assert book.place == replace(NO_SHOW, revision=3)


@pytest.mark.parametrize("steps", [(), ((ADVANCE, 0),)])
def test_nothing_comes_before_the_first_cue(steps: tuple[tuple[ShowStep, float], ...]) -> None:
    book = walked(*steps)
    before = book.place
    with pytest.raises(ValueRefused, match="first cue"):
        move(book, BACK, 1)
    assert book.place is before


def test_without_a_running_order_no_step_can_be_taken() -> None:
    book = ShowClockBook()
    for step in ShowStep:
        with pytest.raises(ValueRefused, match="no running order"):
            book.move(ShowClock(after(0), "Operator", step, "quay", 0), NO_PRODUCTION)
    assert book.place is NO_SHOW


def test_two_hands_never_move_twice() -> None:
    book = walked((ADVANCE, 0))
    book.move(ShowClock(after(10), "Operator", ADVANCE, None, 1), PRODUCTION)
    with pytest.raises(RevisionStale) as stale:
        book.move(ShowClock(after(10), "Engineer", ADVANCE, None, 1), PRODUCTION)
    assert stale.value.values == {"cue_id": "harbour", "phase": "running"}
    assert book.place.cue_id == "harbour"


def test_a_trigger_may_be_repeated_for_ten_minutes() -> None:
    book = ShowClockBook()
    assert len(move(book, ADVANCE, 0, trigger="t-1")) == 1
    assert move(book, ADVANCE, 9.9, trigger="t-1") == ()
    assert book.place.cue_id == "quay"
    with pytest.raises(CommandIdReused):
        move(book, JUMP, 9.9, "storm", trigger="t-1")
    assert len(move(book, ADVANCE, 10.1, trigger="t-1")) == 1
    assert book.place.cue_id == "harbour"


def test_a_trigger_that_could_not_be_done_may_come_again_under_its_id() -> None:
    book = ShowClockBook()
    with pytest.raises(ValueRefused):
        move(book, BACK, 0, trigger="t-1")
    move(book, ADVANCE, 0, trigger="t-2")
    move(book, ADVANCE, 1, trigger="t-3")
    assert len(move(book, BACK, 2, trigger="t-1")) == 1


def test_more_triggers_than_can_be_remembered_are_refused_not_forgotten() -> None:
    book = ShowClockBook()
    for number in range(TRIGGERS_MAXIMUM):
        move(book, JUMP, 0, "quay", trigger=f"t-{number}")
    with pytest.raises(LimitReached):
        move(book, JUMP, 1, "quay", trigger="one more")
    assert move(book, JUMP, 1, "quay", trigger="t-0") == ()
    assert len(move(book, JUMP, 11, "quay", trigger="one more")) == 1


def test_a_restart_keeps_the_place_its_times_and_the_triggers() -> None:
    first = ShowClockBook()
    moves = [*move(first, ADVANCE, 0, trigger="t-1"), *move(first, ADVANCE, 10, trigger="t-2")]
    later = Moment(7_000_000, after(12).utc_us)  # Another start: the monotonic scale began anew.
    second = ShowClockBook()
    second.restore(later, moves)
    place = second.place
    assert (place.cue_id, place.revision, place.phase) == ("harbour", 2, ShowPhase.RUNNING)
    assert place.started is not None
    assert place.zero is not None
    assert later.seconds_since(place.started.at) == 120
    assert later.seconds_since(place.zero) == 720
    again = ShowClock(later, "desk", ADVANCE, None, None, "t-2")
    assert second.move(again, PRODUCTION) == ()
    old = ShowClock(later, "desk", ADVANCE, None, None, "t-1")  # Twelve minutes old: it counts as new.
    assert len(second.move(old, PRODUCTION)) == 1


def test_a_repeated_trigger_is_harmless_although_utc_went_back_across_the_restart() -> None:
    first = ShowClockBook()
    moves = move(first, ADVANCE, 10, trigger="t-1")
    earlier = Moment(7_000_000, after(9).utc_us)
    second = ShowClockBook()
    second.restore(earlier, moves)
    assert second.place.started is not None
    assert second.place.started.at == earlier  # Never in the future.
    soon = Moment(8_000_000, after(9).utc_us + 1_000_000)
    assert second.move(ShowClock(soon, "desk", ADVANCE, None, None, "t-1"), PRODUCTION) == ()
    assert (second.place.cue_id, second.place.revision) == ("quay", 1)


def test_another_document_without_the_cue_ends_the_show_and_one_with_it_does_not() -> None:
    book = walked((ADVANCE, 0), (ADVANCE, 10))
    renamed = replace(PRODUCTION, name="The Lamp")
    assert book.document_changed(after(11), renamed) == ()
    shorter = replace(PRODUCTION, order=replace(PRODUCTION.order, cues=CUES[:1], sleeps=()))
    (event,) = book.document_changed(after(12), shorter)
    assert (event.step, event.by, book.place.phase) == (RESET, "the show clock", ShowPhase.BEFORE)
    assert book.place.revision == 3
    assert ShowClockBook().document_changed(after(0), NO_PRODUCTION) == ()


def test_the_place_is_told_again_when_the_journal_lost_events() -> None:
    assert ShowClockBook().place_again(after(0)) == ()
    book = walked((ADVANCE, 0), (ADVANCE, 10))
    (event,) = book.place_again(after(11))
    restored = ShowClockBook()
    restored.restore(after(11), [event])
    assert restored.place == book.place
