from __future__ import annotations

from fleet.model.device import ContactState
from fleet.model.event import NoticeReceived
from fleet.model.fields import Value, same_value
from fleet.model.observation import Contact, Notice, Observation
from fleet.model.snapshot import JournalStatus
from tests.small_fleet import Hand, describe

CHANNEL = "quay-1/channel/1"


def exact(hand: Hand, values: dict[str, Value | None], address: str = CHANNEL) -> list[str]:
    events = hand.give(Observation(hand.at, "quay-1", exact={address: values}))
    return [event.code for event in events if isinstance(event, NoticeReceived)]


def ready() -> Hand:
    hand = Hand()
    hand.connect("quay-1")
    hand.connect("quay-2")
    return hand


def test_exact_readings_are_handed_out_once_and_latest_wins() -> None:
    hand = ready()
    exact(hand, {"identity": "pack/a"})
    exact(hand, {"identity": "pack/b"})
    assert hand.pipeline.exact_changes() == {CHANNEL: {"identity": "pack/b"}}
    assert hand.pipeline.exact_changes() == {}
    exact(hand, {"identity": "pack/b"})
    assert hand.pipeline.exact_changes() == {}
    exact(hand, {"identity": None})
    assert hand.pipeline.exact_changes() == {CHANNEL: {"identity": None}}


def test_who_is_heard_is_withdrawn_with_the_contact_and_not_for_a_late_heartbeat() -> None:
    hand = ready()
    exact(hand, {"identity": "pack/a"})
    hand.pipeline.exact_changes()
    hand.contact("quay-1", ContactState.LATE)
    assert hand.pipeline.exact_changes() == {}
    hand.contact("quay-1", ContactState.LOST)
    assert hand.pipeline.exact_changes() == {CHANNEL: {"identity": None}}


def test_what_an_unproven_device_tells_waits_until_it_has_proved_itself() -> None:
    hand = ready()
    exact(hand, {"identity": "pack/a"})
    hand.contact("quay-1", ContactState.LOST)
    for told in ("pack/b", "pack/c"):
        hand.give(Contact(hand.at, "quay-1", ContactState.CONNECTING, description=describe("quay-1")))
        exact(hand, {"identity": told})
    hand.pipeline.exact_changes()
    hand.run(1.0)
    snapshot = hand.pipeline.snapshot(hand.at, 0, JournalStatus(True, None, 0))
    assert (hand.pipeline.exact_changes(), snapshot.exact) == ({}, {})
    hand.heartbeat("quay-1")
    assert hand.pipeline.exact_changes() == {CHANNEL: {"identity": "pack/c"}}


def test_what_waited_is_forgotten_with_the_connection_that_told_it() -> None:
    hand = ready()
    hand.contact("quay-1", ContactState.LOST)
    exact(hand, {"identity": "pack/a"})
    hand.pipeline.exact_changes()
    hand.connect("quay-1")
    assert hand.pipeline.exact_changes() == {}


def test_exact_readings_end_with_what_told_them() -> None:
    hand = ready()
    exact(hand, {"identity": "pack/a"}, "quay-1/channel/2")
    hand.pipeline.exact_changes()
    hand.connect("quay-1", channels=1)
    assert hand.pipeline.exact_changes() == {"quay-1/channel/2": {"identity": None}}


def test_what_does_not_fit_is_left_out_and_said() -> None:
    hand = ready()
    assert exact(hand, {"identity": 3}) == ["readings-unknown"]
    assert exact(hand, {"identity": "x" * 300}) == ["readings-unknown"]
    assert exact(hand, {"charm": "x"}) == ["readings-unknown"]
    assert exact(hand, {"reported_frequency_hz": -1}, "pack/quay-1-1") == ["readings-unknown"]
    assert exact(hand, {"reported_frequency_hz": True}, "pack/quay-1-1") == ["readings-unknown"]
    assert exact(hand, {"identity": "x"}, "quay-2/channel/1") == ["readings-unknown"]
    assert exact(hand, {"identity": "x"}, "nowhere") == ["readings-unknown"]
    assert exact(hand, {"reported_frequency_hz": 500_025_000}, "pack/quay-1-1") == []
    assert hand.pipeline.exact_changes() == {"pack/quay-1-1": {"reported_frequency_hz": 500_025_000}}


def test_a_device_has_thirty_notices_a_minute() -> None:
    hand = ready()
    codes = []
    for _ in range(100):
        events = hand.give(Observation(hand.at, "quay-1", notices=(Notice("chatter", "again"),)))
        codes += [event.code for event in events if isinstance(event, NoticeReceived)]
    assert codes == ["chatter"] * 29 + ["notices-left-out"]
    other = hand.give(Observation(hand.at, "quay-2", notices=(Notice("quiet", "once"),)))
    assert len(other) == 1
    hand.now_s += 60.0
    assert len(hand.give(Observation(hand.at, "quay-1", notices=(Notice("chatter", "again"),)))) == 1


def test_a_value_is_the_same_across_number_kinds_and_not_across_truth() -> None:
    assert same_value(80, 80.0)
    assert same_value(0.1 + 0.2, 0.3)
    assert not same_value(True, 1)
    assert not same_value(None, 0)
    assert not same_value("1", 1)


def test_a_device_has_so_many_settings_and_no_more() -> None:
    hand = ready()
    hand.report("quay-1", CHANNEL, {f"extra_{number}": number for number in range(400)})
    assert len(hand.pipeline.settings(CHANNEL).reported) == 256
    hand.report("quay-1", CHANNEL, {"extra_0": 9, "more": 1})
    reported = hand.pipeline.settings(CHANNEL).reported
    assert (reported["extra_0"], "more" in reported) == (9, False)
