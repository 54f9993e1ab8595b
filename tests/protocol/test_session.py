"""The session at both ends: bounds, turns, and what it makes of whatever comes in."""

from __future__ import annotations

import json
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import LimitReached, MalformedMessage, ProtocolError, UnexpectedMessage, VersionMismatch
from fleet.protocol import messages
from fleet.protocol.codec import Limits
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Gap, Request
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role, SessionState
from tests.protocol.transcripts import transcript


def at(name: str, role: Role, limits: Limits | None = None) -> Session:
    """A session of one end after a whole transcript in which only that end's ear matters."""
    session = Session(role, limits=limits or Limits())
    for line in transcript(name):
        data = line.data or {}
        if line.speaker != role.value:
            session.receive(line.message)
        elif role is Role.CONSOLE:
            getattr(session, data["method"])(**_arguments(data))
        elif "result" in data:
            shape: Any = messages.DescribeResult if "description" in data["result"] else messages.HelloResult
            session.answer(data["id"], msgspec.convert(data["result"], shape))
        session.outgoing()
    return session


def _arguments(data: dict[str, Any]) -> dict[str, Any]:
    params = dict(data["params"])
    return {"client": params["client"]} if data["method"] == "hello" else params


def notification(method: str, **params: object) -> bytes:
    return json.dumps({"jsonrpc": "2.0", "method": method, "params": params}).encode()


def readings(sequence: int, subscription: int = 1) -> bytes:
    return notification("readings", subscription=subscription, sequence=sequence, device_time_us=1, values=[1.5])


def live() -> Session:
    """A console's session with subscription 1 open."""
    session = at("describe", Role.CONSOLE)
    request_id = session.subscribe("quay-1", 100)
    layout = [{"address": "quay-1/carrier/1/branch/a", "readings": ["floor_dbm"]}]
    result = {"subscription": 1, "interval_ms": 100, "layout": layout, "device_time_us": 1}
    session.receive(json.dumps({"jsonrpc": "2.0", "id": request_id, "result": result}))
    session.outgoing()
    return session


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=4),
    max_leaves=12,
)
MEMBERS = st.fixed_dictionaries(
    {"jsonrpc": st.sampled_from(["2.0", "1.0"])},
    optional={
        "id": st.integers(-2, 6) | st.none() | st.text(max_size=2),
        "method": st.sampled_from([*messages.REQUESTS, *messages.NOTIFICATIONS, "other"]),
        "params": JSON | st.dictionaries(st.sampled_from(["target", "values", "sequence", "subscription"]), JSON),
        "result": JSON,
        "error": JSON | st.fixed_dictionaries({"code": st.integers(), "message": st.text()}),
    },
)
STARTS = [("hello", Role.CONSOLE), ("describe", Role.CONSOLE), ("hello", Role.DEVICE), ("describe", Role.DEVICE)]


@pytest.mark.parametrize("start", STARTS, ids=str)
@given(data=st.binary(max_size=200) | st.text(max_size=100) | JSON.map(json.dumps) | MEMBERS.map(json.dumps))
def test_whatever_comes_in_only_a_protocol_error_comes_out(start: tuple[str, Role], data: str | bytes) -> None:
    session = at(*start)
    before = session.state
    try:
        session.receive(data)
    except ProtocolError:
        assert session.state is SessionState.FAULTED
    else:
        assert session.state in {before, SessionState.CLOSED, SessionState.GREETED, SessionState.DESCRIBED}


@given(cut=st.integers(0, 400), flip=st.integers(0, 400), byte=st.integers(0, 255))
def test_a_damaged_good_message_does_no_more(cut: int, flip: int, byte: int) -> None:
    for line in transcript("subscribe", whole=False):
        session = live()
        damaged = bytearray(line.message[: len(line.message) - cut % len(line.message)])
        if damaged:
            damaged[flip % len(damaged)] = byte
        try:
            session.receive(bytes(damaged))
        except ProtocolError:
            assert session.state is SessionState.FAULTED


@given(steps=st.lists(st.integers(1, 4), min_size=1, max_size=20))
def test_every_missing_frame_is_told_once(steps: list[int]) -> None:
    session = live()
    sequence = 10
    session.receive(readings(sequence))
    missing = 0
    for step in steps:
        sequence += step
        heard = session.receive(readings(sequence))
        missing += sum(item.received - item.expected for item in heard if isinstance(item, Gap))
        assert isinstance(heard[-1], messages.Readings)
    assert missing == sum(steps) - len(steps)


@pytest.mark.parametrize("sequence", [10, 9, 0])
def test_a_sequence_that_stands_or_goes_back_is_a_fault(sequence: int) -> None:
    session = live()
    session.receive(readings(10))
    with pytest.raises(UnexpectedMessage):
        session.receive(readings(sequence))


QUICK = b'{"jsonrpc":"2.0","method":"readings","params":%s}'
PARAMS = st.fixed_dictionaries(
    {
        "subscription": st.just(1),
        "sequence": st.integers(0, 2**53),
        "device_time_us": st.integers(0, 2**54),
        "values": st.lists(st.floats() | st.none() | st.booleans() | st.integers() | st.lists(st.none()), max_size=4),
    },
    optional={
        "qualities": st.dictionaries(st.integers(-1, 4).map(str), st.integers(0, 4), max_size=2),
        "exact": st.dictionaries(st.sampled_from(["quay-1", "Quay"]), st.just({"identity": None}), max_size=1),
        "later": st.recursive(st.none(), lambda inner: st.lists(inner, min_size=1, max_size=1), max_leaves=40),
    },
)


def outcome(data: bytes) -> object:
    """What a console makes of one message, for comparison."""
    session = live()
    try:
        return [msgspec.to_builtins(item) for item in session.receive(data)], session.state
    except ProtocolError as error:
        return type(error), session.state


@given(params=PARAMS)
def test_the_quick_way_for_readings_says_the_same_as_the_other(params: dict[str, Any]) -> None:
    text = json.dumps(params).encode()
    slow = b'{"method":"readings","jsonrpc":"2.0","params":' + text + b"}"
    assert outcome(QUICK % text) == outcome(slow)


@pytest.mark.parametrize("stray", ['"result":{}', '"error":{"code":1,"message":""}', '"method":"notice"'])
def test_members_of_other_messages_spoil_readings(stray: str) -> None:
    data = QUICK % b'{"subscription":1,"sequence":1,"device_time_us":1,"values":[1]}'
    with pytest.raises(ProtocolError):
        live().receive(data[:-1] + f",{stray}}}".encode())


@pytest.mark.parametrize(("depth", "deep"), [(29, False), (31, True)])
def test_an_unknown_member_of_readings_may_be_nested_no_deeper_than_anything(depth: int, deep: bool) -> None:
    later = b"[" * depth + b"]" * depth
    data = QUICK % (b'{"subscription":1,"sequence":1,"device_time_us":1,"values":[1],"later":' + later + b"}")
    assert (outcome(data) == (MalformedMessage, SessionState.FAULTED)) == deep


def test_readings_of_a_subscription_that_has_ended_are_a_fault() -> None:
    session = live()
    request_id = session.unsubscribe("quay-1", 1)
    session.receive(readings(10))
    session.receive(json.dumps({"jsonrpc": "2.0", "id": request_id, "result": {"device_time_us": 2}}))
    with pytest.raises(UnexpectedMessage):
        session.receive(readings(11))


def test_a_console_may_not_ask_out_of_turn_and_nothing_is_sent() -> None:
    session = Session(Role.CONSOLE)
    with pytest.raises(UnexpectedMessage):
        session.read("quay-1")
    assert session.outgoing() == ()
    assert session.state is SessionState.OPENING
    with pytest.raises(UnexpectedMessage):
        session.notify(messages.Heartbeat(1, "t7k2", 1))


def test_more_requests_than_may_wait_are_held_back() -> None:
    session = at("describe", Role.CONSOLE, Limits(pending_requests=3))
    for _ in range(3):
        session.read("quay-1")
    with pytest.raises(LimitReached):
        session.read("quay-1")


def read_request(request_id: int) -> bytes:
    params = {"target": "quay-1"}
    return json.dumps({"jsonrpc": "2.0", "id": request_id, "method": "read", "params": params}).encode()


def refused_codes(session: Session) -> list[int]:
    return [json.loads(message)["error"]["code"] for message in session.outgoing()]


def test_a_device_answers_busy_when_too_many_requests_wait() -> None:
    session = at("describe", Role.DEVICE, Limits(pending_requests=2))
    for number in (10, 11):
        assert len(session.receive(read_request(number))) == 1
    assert session.receive(read_request(12)) == ()
    assert refused_codes(session) == [ErrorCode.BUSY]


def test_a_device_answers_busy_beyond_its_subscriptions() -> None:
    session = at("describe", Role.DEVICE, Limits(subscriptions=1))
    for number in (10, 11):
        params = {"target": "quay-1", "interval_ms": 100}
        data = {"jsonrpc": "2.0", "id": number, "method": "subscribe", "params": params}
        for item in session.receive(json.dumps(data)):
            assert isinstance(item, Request)
            session.answer(item.request_id, messages.SubscribeResult(number, 100, [], 1))
            session.outgoing()
    assert refused_codes(session) == [ErrorCode.BUSY]


def test_a_request_id_may_not_be_used_twice_at_once() -> None:
    session = at("describe", Role.DEVICE)
    session.receive(read_request(10))
    with pytest.raises(UnexpectedMessage):
        session.receive(read_request(10))


def test_a_device_answers_each_request_once_and_in_kind() -> None:
    session = at("describe", Role.DEVICE)
    session.receive(read_request(10))
    with pytest.raises(UnexpectedMessage):
        session.answer(10, messages.UnsubscribeResult(1))
    session.answer(10, messages.ReadResult([], {}, 1))
    with pytest.raises(UnexpectedMessage):
        session.refuse(10, ErrorCode.REFUSED, "too late")
    with pytest.raises(UnexpectedMessage):
        session.notify(messages.Readings(1, 1, 1, []))


def test_what_would_be_too_large_is_not_sent() -> None:
    session = at("describe", Role.DEVICE)
    settings: messages.Settings = {f"field_{number}": "x" * 4_000 for number in range(300)}
    session.receive(read_request(10))
    with pytest.raises(LimitReached):
        session.answer(10, messages.ReadResult([messages.SettingsEntry("quay-1", "b.1", settings)], {}, 1))
    session.refuse(10, ErrorCode.INTERNAL_ERROR, "too much to tell")


def test_messages_that_nobody_fetches_are_bounded() -> None:
    session = at("describe", Role.DEVICE, Limits(outgoing_messages=5))
    for _ in range(5):
        session.notify(messages.Described("d"))
    with pytest.raises(LimitReached):
        session.notify(messages.Described("d"))


def test_another_major_version_in_the_answer_is_a_mismatch() -> None:
    session = Session(Role.CONSOLE)
    request_id = session.hello("console")
    data = json.loads(transcript("hello")[1].message)
    data["id"] = request_id
    data["result"]["version"] = "2.0"
    with pytest.raises(VersionMismatch) as caught:
        session.receive(json.dumps(data))
    assert caught.value.theirs == ("2.0",)


def test_a_later_minor_version_and_its_new_members_are_understood() -> None:
    session = Session(Role.CONSOLE)
    session.hello("console")
    data = json.loads(transcript("hello")[1].message)
    data["result"] |= {"version": "1.7", "mood": {"weather": ["fair"]}}
    session.receive(json.dumps(data))
    assert session.version == "1.7"
    assert session.receive(notification("applause", loud=True)) == ()


def test_the_error_of_a_device_that_could_not_read_us_ends_the_conversation() -> None:
    session = at("hello", Role.CONSOLE)
    with pytest.raises(MalformedMessage, match="could not take a message of ours"):
        session.receive('{"jsonrpc":"2.0","id":null,"error":{"code":-32700,"message":"what?"}}')


def test_a_closed_session_takes_nothing() -> None:
    session = at("hello", Role.CONSOLE)
    session.close()
    assert session.state is SessionState.CLOSED
    with pytest.raises(UnexpectedMessage):
        session.receive(notification("notice", code="a", words="b"))
