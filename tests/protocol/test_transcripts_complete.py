"""The golden transcripts leave nothing out that the protocol has: counted from the code, not from a list."""

from __future__ import annotations

from typing import Any, get_args, get_type_hints

import msgspec
import pytest

from fleet.adapters.open_json_facts import answer_of_outcome, answer_of_refusal
from fleet.model.capability import ACTS
from fleet.model.command import CommandState
from fleet.model.observation import Answer
from fleet.model.settings import Cause
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal, Result
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role, SessionState
from tests.protocol.test_transcripts import ask
from tests.protocol.transcripts import names, transcript


def exchanges() -> set[tuple[str, str]]:
    """Every method with each kind of answer that some transcript has for it."""
    found = set()
    for name in names():
        asked: dict[int, str] = {}
        for line in transcript(name):
            message = msgspec.json.decode(line.message) if line.data is not None else {}
            if "method" in message and "id" in message:
                asked[message["id"]] = message["method"]
            elif message.get("id") in asked:
                found.add((asked[message["id"]], "result" if "result" in message else "refused"))
    return found


def sent_by_devices(method: str) -> list[dict[str, Any]]:
    """The parameters of every notification of that name."""
    data = [line.data for name in names() for line in transcript(name) if line.speaker == "device" and line.data]
    return [each["params"] for each in data if each.get("method") == method]


def heard_by_a_console(name: str) -> tuple[list[object], set[SessionState]]:
    """What a console's session makes of a transcript, and the states it comes through."""
    session, states = Session(Role.CONSOLE), set()
    heard: list[object] = []
    for line in transcript(name):
        if line.outsider or line.data is None or line.raises:
            continue
        if line.speaker == "console":
            ask(session, line.data)
        else:
            heard += list(session.receive(line.message))
        states.add(session.state)
    return heard, states


HEARD = {name: heard_by_a_console(name) for name in names()}


def test_every_method_is_answered_well_and_refused() -> None:
    assert exchanges() == {(method, answer) for method in messages.REQUESTS for answer in ("result", "refused")}


@pytest.mark.parametrize("method", messages.NOTIFICATIONS)
def test_every_notification_is_there(method: str) -> None:
    assert sent_by_devices(method)


def test_every_error_is_there() -> None:
    errors = [line.data["error"] for name in names() for line in transcript(name) if line.data and "error" in line.data]
    assert {error["code"] for error in errors} == set(ErrorCode)


def test_every_cause_of_a_change_is_there() -> None:
    assert {params["cause"] for params in sent_by_devices("changed")} == set(Cause)


@pytest.mark.parametrize("shape", [messages.WriteResult, messages.ActResult], ids=["write", "act"])
def test_every_way_to_take_a_command_is_there(shape: type[messages.WriteResult | messages.ActResult]) -> None:
    results = [item.body for heard, _ in HEARD.values() for item in heard if isinstance(item, Result)]
    states = {body.state for body in results if isinstance(body, shape)}
    assert states == set(get_args(get_type_hints(shape)["state"]))


def test_every_outcome_of_a_write_and_of_an_act_is_there() -> None:
    ends: dict[str, set[str]] = {"write": set(), "act": set()}
    for name in names():
        data = [line.data for line in transcript(name) if line.data]
        orders = {each["params"]["command_id"]: each["method"] for each in data if each.get("method") in ends}
        for each in data:
            if each.get("method") == "outcome":
                ends[orders[each["params"]["command_id"]]].add(each["params"]["outcome"])
    known = set(get_args(get_type_hints(messages.Outcome)["outcome"]))
    assert ends["write"] == known
    assert ends["act"] == known - {"partly done"}, "an act has no fields that could be done by themselves"


def test_every_known_act_and_one_of_a_devices_own_is_asked_for() -> None:
    data = [line.data for name in names() for line in transcript(name) if line.data]
    asked = {each["params"]["act"] for each in data if each.get("method") == "act"}
    assert asked > set(ACTS)


def test_every_state_of_a_conversation_is_come_through() -> None:
    states = {state for _, come_through in HEARD.values() for state in come_through}
    said = {line.state for name in names() for line in transcript(name)}
    assert states | {SessionState.FAULTED, SessionState.OPENING} == set(SessionState)
    assert SessionState.FAULTED.value in said


def answers_in(name: str) -> set[Answer]:
    """What the console's adapter makes of the device's words about commands in one transcript."""
    answers = set()
    for item in HEARD[name][0]:
        if isinstance(item, messages.Outcome):
            answers.add(answer_of_outcome(item).answer)
        elif isinstance(item, Refusal) and item.method in {"write", "act"}:
            answers.add(answer_of_refusal("c-1", item).answer)
        elif isinstance(item, Result) and isinstance(item.body, messages.WriteResult | messages.ActResult):
            answers.add(Answer(item.body.state))
    return answers


NEVER_ON_THE_WIRE = {
    CommandState.REQUESTED: "it has not been sent yet",
    CommandState.EXPIRED: "it never was",
    CommandState.CLOSED: "a person did that at the console",
}
ON_THE_WIRE: dict[CommandState, tuple[str, Answer | None]] = {
    CommandState.SENT: ("write-confirmed", None),
    CommandState.ACCEPTED: ("write-confirmed", Answer.ACCEPTED),
    CommandState.WAITING_FOR_WAKE: ("write-pending", Answer.WAITING_FOR_WAKE),
    CommandState.WAITING_FOR_HAND: ("write-hand", Answer.WAITING_FOR_HAND),
    CommandState.CONFIRMED: ("write-confirmed", Answer.DONE),
    CommandState.REFUSED: ("write-refused", Answer.REFUSED),
    CommandState.PARTLY_DONE: ("write-partly-done", Answer.PARTLY_DONE),
    CommandState.SUPERSEDED: ("write-superseded", Answer.CANCELLED),
    CommandState.CANCELLED: ("write-pending", Answer.CANCELLED),
    CommandState.UNKNOWN: ("write-failed", Answer.UNKNOWN),
    CommandState.NOT_APPLIED: ("write-read-back", Answer.UNKNOWN),
}


def test_every_state_of_a_command_is_on_the_wire_or_never_can_be() -> None:
    assert set(ON_THE_WIRE) | set(NEVER_ON_THE_WIRE) == set(CommandState)
    assert not set(ON_THE_WIRE) & set(NEVER_ON_THE_WIRE)


@pytest.mark.parametrize("state", ON_THE_WIRE)
def test_a_transcript_shows_the_word_that_brings_a_command_into_a_state(state: CommandState) -> None:
    name, answer = ON_THE_WIRE[state]
    assert name in HEARD
    assert answer is None or answer in answers_in(name)


def test_what_was_not_applied_is_shown_by_reading_back() -> None:
    heard = HEARD["write-read-back"][0]
    data = [line.data for line in transcript("write-read-back") if line.data]
    written = next(each for each in data if each.get("method") == "write")
    read = [item.body for item in heard if isinstance(item, Result) and isinstance(item.body, messages.ReadResult)]
    assert read[-1].settings[0].revision == written["params"]["revision"]
    assert read[-1].settings[0].settings["low_cut_hz"] != written["params"]["changes"]["low_cut_hz"]
