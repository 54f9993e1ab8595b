from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest

from fleet.errors import InvalidRequest, NotFound
from fleet.model.address import Place
from fleet.model.command import CommandState
from fleet.model.device import ContactState, DeviceDescription
from fleet.model.event import DeviceDescribed, Event, NoticeReceived
from fleet.model.observation import Contact
from fleet.readings import ROWS_MAXIMUM
from tests.small_fleet import PACK_SETTINGS, Hand, describe, moment

GOOD = describe("quay-1")
STRANGE = replace(GOOD, device_id="quay-2")


def give(hand: Hand, description: DeviceDescription, device_id: str = "") -> tuple[Event, ...]:
    """A device of that description connects, under its own id unless another is given."""
    who = device_id or description.device_id
    return hand.give(Contact(hand.at, who, ContactState.FRESH, boot_id="b1", description=description))


def notices(events: Iterable[Event]) -> list[str]:
    return [event.code for event in events if isinstance(event, NoticeReceived)]


def test_a_device_that_makes_no_sense_is_bad_until_it_does() -> None:
    hand = Hand()
    hand.connect("quay-2")
    assert notices(give(hand, STRANGE, "quay-1")) == ["description-refused"]
    for _ in range(6):
        hand.run(1.0, ["quay-2"])
        hand.contact("quay-1", ContactState.FRESH, boot_id="b1")
    status = hand.pipeline.devices()[1].contact
    assert status.state is ContactState.BAD, "a heartbeat makes nobody believe it"
    assert "quay-1 describes itself as 'quay-2'" in status.reason
    assert hand.pipeline.devices()[0].contact.state is ContactState.FRESH
    hand.connect("quay-1")
    assert hand.pipeline.devices()[1].contact.state is ContactState.FRESH


def test_only_a_disputed_pack_is_refused_and_said_once() -> None:
    hand = Hand()
    squatter = DeviceDescription("charger-1", "charger", "", True, True, packs=("pack/quay-1-2",))
    give(hand, squatter)
    events = give(hand, GOOD)
    (told,) = [event for event in events if isinstance(event, NoticeReceived)]
    assert (told.code, told.words) == ("packs-disputed", "left out: pack/quay-1-2, which charger-1 holds")
    hand.boots["quay-1"] = "b1"
    hand.report("quay-1", "pack/quay-1-1", PACK_SETTINGS, complete=True)
    assert hand.pipeline.settings("pack/quay-1-1").controlled_through == "quay-1"
    assert hand.pipeline.settings("pack/quay-1-2").controlled_through == "charger-1"
    status = {device.device_id: device for device in hand.pipeline.devices()}["quay-1"]
    assert status.contact.state is ContactState.FRESH
    assert status.description is not None
    assert status.description.packs == ("pack/quay-1-1",)
    assert all("pack/quay-1-2" not in each.targets for each in status.description.capabilities)
    assert give(hand, GOOD) == ()
    hand.write("c1", "pack/quay-1-1", {"low_cut_hz": 100})
    assert hand.states_of("c1")[-1] is CommandState.SENT
    with pytest.raises(InvalidRequest):
        hand.write("c2", "pack/quay-1-2", {"low_cut_hz": 100})
    give(hand, replace(squatter, packs=()))
    assert [type(event) for event in give(hand, GOOD)] == [DeviceDescribed]
    assert hand.pipeline.settings("pack/quay-1-2").controlled_through == "quay-1"


def test_a_device_that_keeps_renaming_its_things_uses_up_no_rows_but_its_own() -> None:
    hand = Hand()
    for turn in range(30):
        packs = tuple(f"pack/{turn}-{number}" for number in range(750))
        give(hand, DeviceDescription("quay-9", "charger", "", True, True, packs=packs))
    assert len(hand.pipeline.tables[Place.PACK]) == 1_500
    status = hand.pipeline.devices()[0].contact
    assert (status.state, "more than 1536 things by and by" in status.reason) == (ContactState.BAD, True)
    hand.connect("quay-1")
    assert hand.pipeline.devices()[1].contact.state is ContactState.FRESH
    give(hand, DeviceDescription("quay-9", "charger", "", True, True, packs=("pack/0-1",)))
    assert hand.pipeline.devices()[0].contact.state is ContactState.FRESH, "what has a row may be named again"


def test_a_pack_that_was_let_go_may_be_taken() -> None:
    hand = Hand()
    hand.connect("quay-1")
    hand.connect("quay-1", channels=0)
    with pytest.raises(NotFound):
        hand.pipeline.settings("pack/quay-1-1")
    taker = replace(describe("quay-2"), packs=("pack/quay-1-1",), capabilities=())
    hand.give(Contact(hand.at, "quay-2", ContactState.FRESH, boot_id="b1", description=taker))
    assert hand.pipeline.settings("pack/quay-1-1").controlled_through == "quay-2"


def test_too_many_rows_are_refused_as_a_whole() -> None:
    hand = Hand()
    packs = 1_000
    for number in range(ROWS_MAXIMUM // packs):
        device_id = f"d{number}"
        described = DeviceDescription(
            device_id, "charger", "", True, True, packs=tuple(f"pack/{number}-{n}" for n in range(packs))
        )
        hand.give(Contact(moment(0), device_id, ContactState.FRESH, boot_id="b", description=described))
    assert len(hand.pipeline.tables[Place.PACK]) == ROWS_MAXIMUM
    hand.give(Contact(moment(0), "quay-1", ContactState.FRESH, boot_id="b", description=GOOD))
    assert len(hand.pipeline.tables[Place.CHANNEL]) == 0
    assert "limited to 20000" in str(hand.events[-1])
