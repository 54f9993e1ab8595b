from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.errors import NotFound
from fleet.model.address import Place
from fleet.model.device import CarrierDescription, ChannelDescription, ContactState, DeviceDescription
from fleet.model.event import NoticeReceived
from fleet.model.observation import Contact
from fleet.readings import ROWS_MAXIMUM
from fleet.state.descriptions import problem_with_description
from tests.small_fleet import Hand, describe, moment

GOOD = describe("quay-1")
FAR = CarrierDescription("quay-2/carrier/1", (), ())
STRAY = CarrierDescription("quay-1/carrier/9", ("quay-1/carrier/1/branch/c",), ())


@pytest.mark.parametrize(
    ("description", "words"),
    [
        (replace(GOOD, device_id="quay-2"), "described itself as 'quay-2'"),
        (replace(GOOD, carriers=(*GOOD.carriers, FAR)), "quay-2/carrier/1 is not under quay-1"),
        (replace(GOOD, carriers=(*GOOD.carriers, STRAY)), "names a branch that is not its own"),
        (replace(GOOD, carriers=(*GOOD.carriers, GOOD.carriers[0])), "named twice"),
        (replace(GOOD, packs=(*GOOD.packs, "quay-1/channel/3")), "not the address of a pack"),
        (replace(GOOD, packs=(*GOOD.packs, "PACK/../1")), "each part is"),
        (replace(GOOD, packs=(*GOOD.packs, "pack/other")), "held by quay-9 already"),
        (replace(GOOD, packs=tuple(f"pack/{n}" for n in range(2_000))), "more than 1024 things"),
        (
            replace(GOOD, channels=(*GOOD.channels, ChannelDescription("quay-1/channel/9", "quay-1/carrier/9"))),
            "quay-1/carrier/9 is referred to and not described",
        ),
    ],
)
def test_what_can_not_be_believed_is_said_in_words(description: DeviceDescription, words: str) -> None:
    problem = problem_with_description("quay-1", description, {"pack/other": "quay-9"})
    assert problem is not None
    assert words in problem


def test_a_good_description_has_no_problem() -> None:
    assert problem_with_description("quay-1", GOOD, {}) is None


def test_a_device_can_not_take_anothers_pack() -> None:
    hand = Hand()
    hand.connect("quay-1")
    thief = replace(describe("quay-2"), packs=GOOD.packs)
    events = hand.give(Contact(hand.at, "quay-2", ContactState.FRESH, boot_id="b1", description=thief))
    assert [event.code for event in events if isinstance(event, NoticeReceived)] == ["description-refused"]
    assert hand.pipeline.settings("pack/quay-1-1").controlled_through == "quay-1"
    for _ in range(6):
        hand.run(1.0, ["quay-1"])
        hand.contact("quay-2", ContactState.FRESH, boot_id="b1")
    status = hand.pipeline.devices()[1].contact
    assert status.state is ContactState.BAD, "a heartbeat makes nobody believe it"
    assert "pack/quay-1-1 is held by quay-1 already" in status.reason
    assert hand.pipeline.devices()[0].contact.state is ContactState.FRESH
    hand.connect("quay-2")
    assert hand.pipeline.devices()[1].contact.state is ContactState.FRESH


def test_a_pack_that_was_let_go_may_be_taken() -> None:
    hand = Hand()
    hand.connect("quay-1")
    hand.connect("quay-1", channels=0)
    with pytest.raises(NotFound):
        hand.pipeline.settings("pack/quay-1-1")
    taker = replace(describe("quay-2"), packs=("pack/quay-1-1",))
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
