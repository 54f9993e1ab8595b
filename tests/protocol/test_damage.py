"""Whole conversations, damaged on the way: only errors of the protocol come out, at either end."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.errors import ProtocolError
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role, SessionState
from tests.protocol.test_transcripts import ask
from tests.protocol.transcripts import Line, transcript

NAMES = ("act-scan", "act-keys", "lease", "gateway-reboot", "write-partly-done", "mode-changes")
DAMAGE = st.tuples(st.integers(0, 40), st.integers(0, 2_000), st.binary(min_size=1, max_size=4))


def damaged(message: bytes, damage: tuple[int, int, bytes]) -> bytes:
    """The message with some bytes written over others somewhere in it."""
    _, place, junk = damage
    at = place % len(message)
    return message[:at] + junk + message[at + len(junk) :]


def play(lines: list[Line], damage: tuple[int, int, bytes]) -> Session:
    """Give a console a device's words, one of them damaged, until it has had enough."""
    session, heard = Session(Role.CONSOLE), 0
    victim = damage[0] % sum(line.speaker == "device" for line in lines)
    for line in lines:
        if line.speaker == "console":
            assert line.data is not None
            ask(session, line.data)
            session.outgoing()
            continue
        session.receive(damaged(line.message, damage) if heard == victim else line.message)
        heard += 1
    return session


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=40)
@given(damage=DAMAGE)
def test_a_console_takes_damage_for_what_it_is(name: str, damage: tuple[int, int, bytes]) -> None:
    try:
        session = play(transcript(name), damage)
    except ProtocolError:
        return
    assert session.state in {SessionState.GREETED, SessionState.DESCRIBED, SessionState.LIVE, SessionState.CLOSED}


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=40)
@given(damage=DAMAGE)
def test_a_device_takes_damage_for_what_it_is(name: str, damage: tuple[int, int, bytes]) -> None:
    requests = [line.message for line in transcript(name) if line.speaker == "console"]
    session = Session(Role.DEVICE)
    victim = damage[0] % len(requests)
    for number, message in enumerate(requests):
        try:
            session.receive(damaged(message, damage) if number == victim else message)
        except ProtocolError:
            assert session.state is SessionState.FAULTED
            assert len(session.outgoing()) == 1, "it says why, once"
            return
        session.outgoing()
