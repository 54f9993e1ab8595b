"""Every golden transcript, played to a console's session and to a device's."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from fleet import errors
from fleet.errors import ProtocolError
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Gap, Rebooted, Received, Refusal, Request, Result
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role, SessionState
from tests.protocol.transcripts import Line, head, names, transcript


def name_of(item: Received) -> str:
    match item:
        case Request():
            return messages.METHOD_OF[type(item.params)]
        case Result():
            return f"{item.method} result"
        case Refusal():
            return f"{item.method} refused"
        case Gap():
            return "gap"
        case Rebooted():
            return "rebooted"
        case _:
            return next(name for name, shape in messages.NOTIFICATIONS.items() if isinstance(item, shape))


def hear(session: Session, line: Line) -> None:
    """Give a line to the end it is meant for, and hold that end to what the transcript says."""
    if line.raises:
        with pytest.raises(getattr(errors, line.raises)):
            session.receive(line.message)
        assert session.state is SessionState.FAULTED
        with pytest.raises(ProtocolError):
            session.receive(line.message)
        return
    assert [name_of(item) for item in session.receive(line.message)] == line.hears
    check_state(session, line)


def check_state(session: Session, line: Line) -> None:
    if line.state:
        assert session.state.value == line.state


def ask(session: Session, data: dict[str, Any]) -> None:
    """Have the console's session make a request."""
    params = dict(data["params"])
    if data["method"] == "hello":
        session.hello(params["client"], tuple(params["versions"]))
    else:
        getattr(session, data["method"])(**params)


def say(session: Session, data: dict[str, Any], methods: dict[int, str]) -> None:
    """Have the device's session answer or notify."""
    if "method" in data:
        session.notify(msgspec.convert(data["params"], messages.NOTIFICATIONS[data["method"]], str_keys=True))
    elif "result" in data:
        session.answer(
            data["id"], msgspec.convert(data["result"], messages.RESULTS[methods[data["id"]]], str_keys=True)
        )
    else:
        more = {key: value for key, value in data["error"]["data"].items() if key != "code"}
        session.refuse(data["id"], ErrorCode(data["error"]["code"]), data["error"]["message"], more)


@pytest.mark.parametrize("name", names())
def test_played_to_a_console(name: str) -> None:
    session = Session(Role.CONSOLE)
    for line in transcript(name):
        if line.outsider or (line.speaker == "console" and line.data is None):
            continue
        if line.speaker == "device":
            hear(session, line)
        else:
            assert line.data is not None
            ask(session, line.data)
            assert session.outgoing() == (line.message,)
            check_state(session, line)


@pytest.mark.parametrize("name", names())
def test_played_to_a_device(name: str) -> None:
    session = Session(Role.DEVICE)
    methods: dict[int, str] = {}
    for line in transcript(name):
        if line.speaker == "console":
            asked = msgspec.json.decode(line.message) if line.data is not None or line.hears else {}
            methods[asked.get("id", -1)] = asked.get("method", "")
            hear(session, line)
        elif line.data is not None:
            if line.hears == ["rebooted"]:
                continue  # A device that restarted has no session of the boot before.
            if not line.automatic:
                say(session, line.data, methods)
            assert session.outgoing() == (line.message,)
            if not line.raises:
                check_state(session, line)


@pytest.mark.parametrize("name", names())
def test_a_transcript_says_its_name_and_what_it_shows(name: str) -> None:
    assert head(name).transcript == name
    assert head(name).says.endswith(".")
