"""Acts: checked in full, sent once, their secrets kept nowhere, their outcome the device's word alone."""

from __future__ import annotations

import pytest

from fleet.errors import CommandIdReused, InvalidRequest, NotFound, ValueRefused
from fleet.model.act import ActProgress, LevelStretch, ProgressView
from fleet.model.command import CommandState
from fleet.model.device import ContactState
from fleet.model.event import CommandChanged
from fleet.model.event_json import encode_event
from fleet.model.inputs import CancelCommand, CloseUnknown, RequestAct, Restored
from fleet.model.observation import Answer, Observation
from fleet.pipeline import Pipeline
from fleet.state.act_progress import LEVELS_MAXIMUM, SCANS_MAXIMUM, ProgressBook
from tests.small_fleet import Hand, moment
from tests.state.ear_fleet import CARRIER, EAR, KEY, EarHand, ready

S = CommandState


def test_an_act_is_sent_at_once_and_confirmed_by_the_device_s_word() -> None:
    hand = ready()
    hand.act("identify", arguments={"seconds": 5})
    assert hand.command("a1").changes == {"seconds": 5}
    hand.says(Answer.ACCEPTED)
    hand.says(Answer.DONE)
    assert hand.states_of("a1") == [S.REQUESTED, S.SENT, S.ACCEPTED, S.CONFIRMED]
    assert (hand.command("a1").act, hand.command("a1").requested_by) == ("identify", "Engineer")


def test_the_result_of_an_act_stands_in_its_command() -> None:
    hand = ready()
    hand.act("set_key", CARRIER, arguments={"key": KEY})
    hand.says(Answer.DONE, result={"key_fingerprint": "3f-9c"})
    assert hand.command("a1").result == {"key_fingerprint": "3f-9c"}


@pytest.mark.parametrize(
    ("target", "act", "arguments", "error"),
    [
        ("ear-9", "identify", {}, NotFound),
        (EAR, "dance", {}, ValueRefused),
        (CARRIER, "identify", {}, ValueRefused),
        (EAR, "identify", {"seconds": 11}, ValueRefused),
        (EAR, "identify", {"seconds": "5"}, ValueRefused),
        (EAR, "identify", {"minutes": 5}, ValueRefused),
        (CARRIER, "set_key", {}, ValueRefused),
        (CARRIER, "set_key", {"key": 7}, ValueRefused),
    ],
)
def test_what_can_not_be_done_is_refused_and_nothing_is_sent(
    target: str, act: str, arguments: dict[str, int | str], error: type[Exception]
) -> None:
    hand = ready()
    with pytest.raises(error):
        hand.act(act, target, arguments=arguments)
    assert hand.pipeline.commands() == ()


def test_a_refusal_never_repeats_a_secret() -> None:
    hand = ready()
    with pytest.raises(ValueRefused) as refused:
        hand.act("set_key", CARRIER, arguments={"key": KEY + "\n"})
    assert KEY not in str(refused.value)
    assert KEY not in repr(refused.value.allowed)


def test_a_secret_is_given_once_and_stands_nowhere_else() -> None:
    hand = ready()
    act = RequestAct("a1", CARRIER, "set_key", {"key": KEY, "slot": 2})
    events = hand.do(act)
    assert hand.command("a1").changes == {"slot": 2}
    shown = [repr(act), repr(events), repr(hand.pipeline.commands()), *(encode_event(each).decode() for each in events)]
    assert not any(KEY in each for each in shown)
    assert hand.pipeline.take_secrets("a1") == {"key": KEY}
    assert hand.pipeline.take_secrets("a1") == {}


@pytest.mark.parametrize("end", ["expires", "is cancelled", "is answered"])
def test_a_secret_goes_with_its_command(end: str) -> None:
    hand = ready()
    if end != "is answered":
        hand.contact(EAR, ContactState.LATE)
    hand.act("set_key", CARRIER, arguments={"key": KEY})
    match end:
        case "expires":
            hand.run(2.1)
        case "is cancelled":
            hand.do(CancelCommand("a1"))
        case _:
            hand.says(Answer.ACCEPTED)
    assert hand.pipeline.take_secrets("a1") == {}


def test_a_repeat_does_nothing_and_another_use_of_the_id_is_refused() -> None:
    hand = ready()
    hand.act("identify", arguments={"seconds": 5})
    assert hand.act("identify", arguments={"seconds": 5}) == ()
    with pytest.raises(CommandIdReused):
        hand.act("restart")
    assert hand.states_of("a1").count(S.SENT) == 1


@pytest.mark.parametrize("before", [None, Answer.ACCEPTED, Answer.WAITING_FOR_HAND, Answer.WAITING_FOR_WAKE])
def test_when_the_contact_ends_the_outcome_is_unknown_and_nothing_reads_it_back(before: Answer | None) -> None:
    hand = ready()
    hand.act("scan")
    if before is not None:
        hand.says(before)
    hand.contact(EAR, ContactState.LOST, "no fresh heartbeat for 5 s")
    assert hand.command("a1").state is S.UNKNOWN
    hand.greet()
    hand.run(20.0, ())
    assert hand.pipeline.read_backs_due(hand.at) == ()
    assert hand.states_of("a1").count(S.SENT) == 1, "it is never sent again"
    hand.says(Answer.DONE)
    assert hand.command("a1").state is S.CONFIRMED, "a late word is still the device's"


def test_a_reboot_in_the_midst_of_an_act_makes_it_unknown_and_a_person_closes_it() -> None:
    hand = ready()
    hand.act("restart")
    hand.says(Answer.ACCEPTED)
    hand.boots[EAR] = "b2"
    hand.heartbeat(EAR)
    assert hand.command("a1").state is S.UNKNOWN
    hand.do(CloseUnknown("a1", "it came back by itself"))
    assert hand.command("a1").state is S.CLOSED


def test_settings_that_look_like_its_arguments_settle_no_act() -> None:
    hand = ready()
    hand.act("identify", arguments={"seconds": 5})
    hand.report(EAR, EAR, {"name": "Wheelhouse", "seconds": 5}, complete=True)
    hand.read_back(EAR, EAR, {"name": "Wheelhouse", "seconds": 5})
    assert hand.command("a1").state is S.SENT
    assert hand.pipeline.settings(EAR).desired == ()


def test_deadlines_are_those_of_the_act() -> None:
    hand = ready()
    hand.act("scan")
    hand.run(1.9)
    hand.says(Answer.ACCEPTED)
    hand.run(119.9)
    assert hand.command("a1").state is S.ACCEPTED
    hand.run(0.2)
    assert hand.command("a1").state is S.UNKNOWN
    assert "did not end it in time" in hand.command("a1").reason


def test_a_long_act_holds_no_write_up_and_a_write_in_flight_holds_an_act_up() -> None:
    hand = ready()
    hand.act("scan")
    hand.says(Answer.ACCEPTED)
    hand.write("c1", EAR, {"name": "Bridge"})
    assert hand.command("c1").state is S.SENT
    hand.act("identify", command_id="a2")
    assert hand.command("a2").state is S.REQUESTED
    hand.answer(EAR, "c1", Answer.REFUSED)
    assert hand.command("a2").state is S.SENT


def test_only_what_can_be_given_up_is_cancelled_once_it_has_begun() -> None:
    hand = ready()
    hand.act("identify")
    hand.act("scan", command_id="a2")
    for command_id in ("a1", "a2"):
        hand.says(Answer.ACCEPTED, command_id)
    with pytest.raises(InvalidRequest, match="can't be given up once ear-1 has begun it"):
        hand.do(CancelCommand("a1"))
    hand.do(CancelCommand("a2"))
    hand.says(Answer.CANCELLED, "a2")
    assert hand.command("a2").state is S.CANCELLED


def test_progress_is_shown_and_makes_no_event() -> None:
    hand = ready()
    hand.act("scan")
    stretch = LevelStretch(470_000_000, 25_000, 25_000, (-101.5, None))
    progress = (ActProgress("a1", 0.25, "from 470 MHz", stretch),)
    assert hand.give(Observation(hand.at, EAR, progress=progress)) == ()
    assert hand.command("a1").progress == 0.25
    assert hand.pipeline.act_progress() == {"a1": ProgressView(0.25, "from 470 MHz", 1)}
    assert hand.pipeline.act_progress() == {}
    levels = hand.pipeline.levels("a1")
    assert levels is not None
    assert (levels.stretches, levels.left_out) == ((stretch,), 0)


def test_another_device_can_not_speak_of_an_act() -> None:
    hand = ready()
    hand.connect("quay-1")
    hand.act("scan")
    hand.give(Observation(hand.at, "quay-1", progress=(ActProgress("a1", 0.5),)))
    hand.answer("quay-1", "a1", Answer.DONE)
    assert (hand.command("a1").state, hand.command("a1").progress) == (S.SENT, None)


def test_the_levels_of_scans_are_bounded() -> None:
    book = ProgressBook()
    half = LevelStretch(0, 1, 1, (None,) * (LEVELS_MAXIMUM // 2))
    for _ in range(3):
        book.note(ActProgress("a1", levels=half))
    found = book.levels("a1")
    assert found is not None
    assert (len(found.stretches), found.left_out) == (2, LEVELS_MAXIMUM // 2)
    for number in range(SCANS_MAXIMUM):
        book.note(ActProgress(f"b{number}", levels=LevelStretch(0, 1, 1, (None,))))
    assert book.levels("a1") is None, "the oldest makes room"


@pytest.mark.parametrize("state", [S.SENT, S.ACCEPTED])
def test_after_a_crash_an_act_is_unknown(state: CommandState) -> None:
    hand = ready()
    hand.act("scan")
    if state is S.ACCEPTED:
        hand.says(Answer.ACCEPTED)
    (last,) = [each.command for each in hand.events if isinstance(each, CommandChanged)][-1:]
    again = Hand(Pipeline(epoch=2), now_s=60.0)
    again.give(Restored(moment(60.0), (last,), ()))
    assert again.command("a1").state is S.UNKNOWN


def test_an_act_waits_for_contact_and_expires_unsent() -> None:
    hand: EarHand = ready()
    hand.contact(EAR, ContactState.LOST)
    hand.act("identify")
    hand.run(2.1)
    assert hand.states_of("a1") == [S.REQUESTED, S.EXPIRED]
