from __future__ import annotations

from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.sink import desk_of


def test_one_writes_at_a_time(sink: VirtualFleet) -> None:
    first, second = desk_of(sink, "sink-wide-1", "first"), desk_of(sink, "sink-wide-1", "second")
    refused = first.write("sink-wide-1/channel/1", "c1", trim_db=3.0)
    assert isinstance(refused, Refusal)
    assert (refused.code, refused.data["lease"]) == (ErrorCode.REFUSED, "")
    assert first.lease().granted
    told = second.lease()
    assert (told.granted, told.holder, told.remaining_s) == (False, "first", 30.0)
    other = second.act("sink-wide-1", "c2", "identify")
    assert isinstance(other, Refusal)
    assert other.data["lease"] == "first"
    assert isinstance(first.write("sink-wide-1/channel/1", "c3", trim_db=3.0), messages.WriteResult)
    assert second.lease(take=True).granted
    first.advance(0.2)
    assert first.all(messages.Leased)[-1].holder == "second"
    assert isinstance(first.write("sink-wide-1/channel/1", "c4", trim_db=0.0), Refusal)


def test_a_lease_ends_with_its_time_its_release_or_its_connection(sink: VirtualFleet) -> None:
    first, second = desk_of(sink, "sink-wide-1", "first"), desk_of(sink, "sink-wide-1", "second")
    first.lease(seconds=5)
    second.advance(4.9)
    assert not second.lease().granted
    second.advance(0.2)
    assert second.lease().granted
    second.release()
    first.now_us = second.now_us
    assert first.lease().granted
    first.conversation.close()
    second.advance(0.2)
    assert second.all(messages.Leased)[-1].holder == ""
    assert second.lease().granted


def test_a_repeated_write_has_its_answer_although_the_lease_went(sink: VirtualFleet) -> None:
    first, second = desk_of(sink, "sink-wide-1", "first"), desk_of(sink, "sink-wide-1", "second")
    first.lease()
    revision = first.revision("sink-wide-1/channel/1")
    first.write("sink-wide-1/channel/1", "c1", revision, trim_db=3.0)
    second.lease(take=True)
    again = first.write("sink-wide-1/channel/1", "c1", revision, trim_db=3.0)
    assert isinstance(again, messages.WriteResult)
    assert first.settings("sink-wide-1/channel/1")["trim_db"] == 3.0
