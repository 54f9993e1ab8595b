"""Devices behind a gateway: each has a boot of its own, and none can speak for another."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import MalformedMessage, ProtocolError, UnexpectedMessage
from fleet.protocol import messages
from fleet.protocol.boots import CONNECTION, Boots
from fleet.protocol.received import Rebooted
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role, SessionState
from tests.protocol.transcripts import transcript

DEVICES = ("shed-1", "shed-2")


def greeted(*devices: dict[str, Any]) -> Session:
    """A console's session right after a gateway's greeting."""
    session = Session(Role.CONSOLE)
    session.hello("console")
    data = json.loads(transcript("gateway")[1].message)
    if devices:
        data["result"]["devices"] = [{**data["result"]["devices"][0], **device} for device in devices]
    session.receive(json.dumps(data))
    return session


def notification(method: str, **params: object) -> bytes:
    return json.dumps({"jsonrpc": "2.0", "method": method, "params": params}).encode()


def beat(target: str, boot_id: str, counter: int = 1) -> bytes:
    more = {"target": target} if target else {}
    return notification("heartbeat", device_time_us=counter, boot_id=boot_id, counter=counter, **more)


def test_each_device_has_its_boot_and_the_gateway_its_own() -> None:
    boots = greeted().boots
    assert [boots.of(target) for target in (CONNECTION, *DEVICES, "shed-3")] == ["g5", "s1a", "s2a", ""]


def test_a_device_without_a_boot_of_its_own_shares_the_connections() -> None:
    session = greeted({"id": "shed-1", "boot_id": ""}, {"id": "shed-2"})
    assert session.boots.of("shed-1") == "g5"
    assert session.receive(beat("shed-1", "g6")) == (Rebooted("g5", "g6"),)
    assert session.state is SessionState.CLOSED


def test_a_device_that_restarts_leaves_the_conversation_and_the_other_devices_as_they_are() -> None:
    session = greeted()
    restarted, heartbeat = session.receive(beat("shed-2", "s2b"))
    assert restarted == Rebooted("s2a", "s2b", "shed-2")
    assert isinstance(heartbeat, messages.Heartbeat)
    assert session.state is SessionState.GREETED
    assert (session.boots.of("shed-1"), session.boots.of("shed-2")) == ("s1a", "s2b")
    assert len(session.receive(beat("shed-2", "s2b", 2))) == 1, "told once"


def test_frames_of_a_device_from_before_its_restart_are_a_fault() -> None:
    session = Session(Role.CONSOLE)
    for line in transcript("gateway"):
        assert line.data is not None
        if line.speaker == "device":
            session.receive(line.message)
            continue
        params = dict(line.data["params"])
        if line.data["method"] == "hello":
            params = {"client": params["client"]}
        getattr(session, line.data["method"])(**params)
    session.receive(beat("shed-2", "s2b"))
    session.receive(notification("readings", subscription=1, sequence=3, device_time_us=1, values=[1.5]))
    with pytest.raises(UnexpectedMessage, match="readings of subscription 2"):
        session.receive(notification("readings", subscription=2, sequence=3, device_time_us=1, values=[1.5]))


STRANGERS = [
    beat("shed-3", "s3"),
    notification("notice", code="a", words="b", target="shed-3"),
    notification("described", digest="d", target="shed-3"),
    notification("described", digest="d"),
]


@pytest.mark.parametrize("data", STRANGERS, ids=["heartbeat", "notice", "described", "described, nobody said of which"])
def test_word_of_a_device_that_was_not_greeted_is_a_fault(data: bytes) -> None:
    session = greeted()
    with pytest.raises(UnexpectedMessage):
        session.receive(data)
    assert session.state is SessionState.FAULTED


def test_a_greeting_that_names_a_device_twice_is_no_greeting() -> None:
    with pytest.raises(MalformedMessage, match="named twice"):
        greeted({"id": "shed-1"}, {"id": "shed-1"})


def test_a_device_may_not_notify_of_what_it_did_not_greet_with() -> None:
    device = Session(Role.DEVICE)
    device.receive(transcript("gateway")[0].message)
    result = json.loads(transcript("gateway")[1].message)["result"]
    summaries = [messages.DeviceSummary(**summary) for summary in result["devices"]]
    device.answer(1, messages.HelloResult("1.0", "g5", False, summaries, 1))
    device.outgoing()
    with pytest.raises(UnexpectedMessage):
        device.notify(messages.Heartbeat(1, "s3", 1, "shed-3"))
    assert device.outgoing() == ()


BEATS = st.lists(
    st.tuples(st.sampled_from(("", *DEVICES, "shed-3")), st.sampled_from(("g5", "s1a", "s2a", "s2b"))), max_size=12
)


@given(beats=BEATS)
def test_whatever_heartbeats_come_each_restart_is_told_once_and_of_the_right_device(
    beats: list[tuple[str, str]],
) -> None:
    session = greeted()
    boots = {"": "g5", "shed-1": "s1a", "shed-2": "s2a"}
    for target, boot in beats:
        try:
            heard = session.receive(beat(target, boot))
        except ProtocolError:
            assert target not in boots
            assert session.state is SessionState.FAULTED
            return
        told = [item for item in heard if isinstance(item, Rebooted)]
        assert told == ([] if boots[target] == boot else [Rebooted(boots[target], boot, target)])
        boots[target] = boot
        if session.state is SessionState.CLOSED:
            assert target == ""
            return


def test_nobody_is_greeted_yet() -> None:
    assert Boots().of(CONNECTION) == ""
