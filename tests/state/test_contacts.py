from __future__ import annotations

from fleet.model.address import Place
from fleet.model.device import ContactState
from fleet.model.event import ContactChanged, DeviceDescribed
from fleet.model.observation import Contact, Observation, SettingsReport
from fleet.model.quality import Quality
from fleet.state.contacts import ContactBook
from tests.small_fleet import PACK_SETTINGS, Hand, describe, moment

C = ContactState


def contact(seconds: float, state: ContactState, *, boot_id: str = "b1", described: bool = False) -> Contact:
    description = describe("quay-1") if described else None
    return Contact(moment(seconds), "quay-1", state, "why", boot_id, description, attempts=3)


def test_a_retry_is_no_change_until_the_device_is_heard() -> None:
    book = ContactBook()
    assert book.step(contact(0, C.CONNECTING)).changed
    assert book.step(contact(1, C.LOST)).changed
    retry = book.step(contact(2, C.CONNECTING))
    assert (retry.changed, retry.status.state, retry.status.attempts) == (False, C.LOST, 3)
    assert retry.status.since_utc_us == moment(1).utc_us
    assert book.step(contact(3, C.BAD)).changed
    back = book.step(contact(4, C.FRESH, described=True))
    assert (back.changed, back.new_epoch, back.status.last_seen_utc_us) == (True, True, moment(4).utc_us)


def test_a_heartbeat_moves_last_seen_and_nothing_else() -> None:
    book = ContactBook()
    book.step(contact(0, C.FRESH, described=True))
    beat = book.step(contact(1, C.FRESH))
    assert (beat.changed, beat.new_epoch) == (False, False)
    assert (beat.status.since_utc_us, beat.status.last_seen_utc_us) == (moment(0).utc_us, moment(1).utc_us)
    late = book.step(contact(3, C.LATE))
    assert (late.changed, late.status.last_seen_utc_us) == (True, moment(1).utc_us)
    assert not book.step(contact(4, C.FRESH)).new_epoch
    ages_s, qualities = book.ages_s(moment(6))
    assert (ages_s.tolist(), qualities.tolist()) == ([2.0], [Quality.GOOD])
    assert book.out_of_contact().tolist() == [False]


def test_a_description_in_the_midst_of_a_contact_is_no_heartbeat() -> None:
    book = ContactBook()
    book.step(contact(0, C.FRESH, described=True))
    again = book.step(contact(4, C.FRESH, described=True))
    assert (again.changed, again.status.last_seen_utc_us) == (False, moment(0).utc_us)
    assert book.ages_s(moment(5))[0].tolist() == [5.0]


def test_another_boot_is_another_epoch() -> None:
    book = ContactBook()
    book.step(contact(0, C.FRESH, described=True))
    step = book.step(contact(1, C.FRESH, boot_id="b2"))
    assert (step.changed, step.new_epoch, step.rebooted) == (True, True, True)
    assert book.fresh_for_us("quay-1", moment(3)) == 2_000_000


def test_a_device_never_heard_counts_from_the_first_try() -> None:
    book = ContactBook()
    book.step(contact(1, C.CONNECTING))
    ages_s, qualities = book.ages_s(moment(4))
    assert (ages_s.tolist(), qualities.tolist()) == ([3.0], [Quality.UNCERTAIN])
    assert book.out_of_contact().tolist() == [True]
    assert book.fresh_for_us("quay-1", moment(4)) == 0


def test_what_a_new_connection_reported_before_it_proved_fresh_is_current() -> None:
    hand = Hand()
    hand.connect("quay-1")
    hand.contact("quay-1", C.LOST)
    hand.give(Contact(hand.at, "quay-1", C.CONNECTING, boot_id="b1", description=describe("quay-1")))
    report = SettingsReport("pack/quay-1-1", "b1.7", PACK_SETTINGS, complete=True)
    hand.give(Observation(hand.at, "quay-1", reports=(report,)))
    assert hand.pipeline.settings("pack/quay-1-1").quality is Quality.UNCERTAIN
    hand.heartbeat("quay-1")
    view = hand.pipeline.settings("pack/quay-1-1")
    assert (view.quality, view.revision) == (Quality.GOOD, "b1.7")


def test_events_come_with_changes_only() -> None:
    hand = Hand()
    hand.connect("quay-1")
    assert [event.kind for event in hand.events[:2]] == [ContactChanged.kind, DeviceDescribed.kind]
    again = Contact(hand.at, "quay-1", C.FRESH, boot_id="b1", description=describe("quay-1"))
    assert hand.give(again) == ()
    smaller = Contact(hand.at, "quay-1", C.FRESH, boot_id="b1", description=describe("quay-1", 1))
    assert [event.kind for event in hand.give(smaller)] == [DeviceDescribed.kind]


def test_a_reconnect_with_equal_settings_is_quiet_and_differing_ones_have_no_known_cause() -> None:
    hand = Hand()
    hand.connect("quay-1")
    hand.contact("quay-1", C.LOST)
    assert hand.pipeline.settings("pack/quay-1-1").quality is Quality.UNCERTAIN
    count = len(hand.events)
    hand.connect("quay-1")
    assert [event.kind for event in hand.events[count:]] == [ContactChanged.kind]
    (event,) = hand.report("quay-1", "pack/quay-1-1", {**PACK_SETTINGS, "low_cut_hz": 120}, complete=True)
    assert getattr(event, "cause", None) == "unknown"
    assert getattr(event, "before", None) == {"low_cut_hz": 80}


def test_lost_contact_makes_every_value_uncertain_at_once() -> None:
    hand = Hand()
    hand.connect("quay-1")
    hand.run(1.0, ["quay-1"])
    hand.contact("quay-1", C.LOST)
    for place in (Place.BRANCH, Place.CARRIER, Place.CHANNEL, Place.PACK):
        assert not (hand.pipeline.tables[place].qualities == Quality.GOOD).any()
    hand.frame("quay-1")
    hand.run(0.1)
    assert not (hand.pipeline.tables[Place.BRANCH].qualities == Quality.GOOD).any()


def test_a_device_that_is_removed_has_no_age_and_counts_as_never_heard_when_it_is_back() -> None:
    book = ContactBook()
    book.step(contact(0, C.CONNECTING))
    book.step(contact(1, C.FRESH))
    gone = book.step(contact(2, C.REMOVED))
    assert (gone.changed, gone.status.state) == (True, C.REMOVED)
    ages_s, qualities = book.ages_s(moment(60))
    assert (str(ages_s[0]), qualities.tolist()) == ("nan", [Quality.ABSENT])
    assert (book.removed().tolist(), book.out_of_contact().tolist()) == ([True], [True])
    back = book.step(contact(70, C.CONNECTING))
    assert (back.changed, back.status.state) == (True, C.CONNECTING)
    ages_s, qualities = book.ages_s(moment(71))
    assert (ages_s.tolist(), qualities.tolist()) == ([1.0], [Quality.UNCERTAIN])
