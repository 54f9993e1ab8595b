"""Who writes in a zone: every step from every standing, as a table; and how a zone lapses."""

from __future__ import annotations

import pytest

from fleet.errors import InvalidRequest, NotFound, ZoneHeld
from fleet.model.moment import Moment
from fleet.model.zone import (
    ANYBODY,
    AcceptZone,
    OfferZone,
    ReleaseZone,
    ScreensChanged,
    TakeZone,
    ZoneAct,
    ZoneStep,
    ZoneWriter,
)
from fleet.state.zone_book import ZoneBook

ZONES = ("House", "Quay")
FREE, HELD, OFFERED, OFFERED_TO_ALL = "free", "held by Left", "offered to Right", "offered to anybody"
FORCE = TakeZone("Quay", by_force=True, reason="Left is ill")


def at(seconds: float) -> Moment:
    return Moment(round(seconds * 1e6), 1_760_000_000_000_000 + round(seconds * 1e6))


def standing(name: str) -> ZoneBook:
    book = ZoneBook()
    if name != FREE:
        book.act(at(0), "Left", TakeZone("Quay"), ZONES)
    if name in (OFFERED, OFFERED_TO_ALL):
        book.act(at(0), "Left", OfferZone("Quay", "Right" if name == OFFERED else ANYBODY), ZONES)
    return book


def holder(book: ZoneBook) -> str:
    return next((writer.person for writer in book.writers()), "")


# By hand: where it stands, who asks for what, then who holds the zone and by which step; or the error.
TABLE: list[tuple[str, str, ZoneAct, str, ZoneStep | type[Exception] | None]] = [
    (FREE, "Right", TakeZone("Quay"), "Right", ZoneStep.TAKEN),
    (FREE, "Right", FORCE, "Right", ZoneStep.TAKEN),
    (FREE, "Right", OfferZone("Quay"), "", InvalidRequest),
    (FREE, "Right", AcceptZone("Quay"), "", InvalidRequest),
    (FREE, "Right", ReleaseZone("Quay"), "", InvalidRequest),
    (HELD, "Left", TakeZone("Quay"), "Left", None),
    (HELD, "Right", TakeZone("Quay"), "Left", ZoneHeld),
    (HELD, "Right", FORCE, "Right", ZoneStep.FORCED),
    (HELD, "Right", TakeZone("Quay", by_force=True, reason=" "), "Left", InvalidRequest),
    (HELD, "Left", OfferZone("Quay", "Right"), "Left", ZoneStep.OFFERED),
    (HELD, "Left", OfferZone("Quay", "Left"), "Left", InvalidRequest),
    (HELD, "Right", OfferZone("Quay"), "Left", ZoneHeld),
    (HELD, "Right", AcceptZone("Quay"), "Left", InvalidRequest),
    (HELD, "Left", ReleaseZone("Quay"), "", ZoneStep.RELEASED),
    (HELD, "Right", ReleaseZone("Quay"), "Left", ZoneHeld),
    (OFFERED, "Right", AcceptZone("Quay"), "Right", ZoneStep.ACCEPTED),
    (OFFERED, "Third", AcceptZone("Quay"), "Left", InvalidRequest),
    (OFFERED, "Left", AcceptZone("Quay"), "Left", InvalidRequest),
    (OFFERED, "Left", OfferZone("Quay", "Right"), "Left", None),
    (OFFERED, "Left", OfferZone("Quay", ""), "Left", ZoneStep.OFFERED),
    (OFFERED, "Right", TakeZone("Quay"), "Left", ZoneHeld),
    (OFFERED_TO_ALL, "Third", AcceptZone("Quay"), "Third", ZoneStep.ACCEPTED),
    (FREE, "Right", TakeZone("Moon"), "", NotFound),
]


@pytest.mark.parametrize(("stands", "person", "act", "after", "expected"), TABLE)
def test_the_table(
    stands: str, person: str, act: ZoneAct, after: str, expected: ZoneStep | type[Exception] | None
) -> None:
    book = standing(stands)
    before = book.writers()
    if isinstance(expected, type):
        with pytest.raises(expected):
            book.act(at(1), person, act, ZONES)
        assert book.writers() == before
        return
    changes = book.act(at(1), person, act, ZONES)
    assert [change.step for change in changes] == ([] if expected is None else [expected])
    assert holder(book) == after


def test_only_the_holder_writes_and_the_refusal_names_them() -> None:
    book = standing(HELD)
    book.require(at(1), "Left", ZONES)
    book.require(at(1), "Right", ["House"])
    with pytest.raises(ZoneHeld, match="Left writes in Quay"):
        book.require(at(1), "Right", ZONES)


def test_a_holder_keeps_a_zone_while_a_screen_is_open_and_thirty_seconds_more() -> None:
    book = standing(HELD)
    book.screens(ScreensChanged(at(0), "Left", any_open=True))
    assert book.tick(at(3_600)) == ()
    book.screens(ScreensChanged(at(3_600), "Left", any_open=False))
    assert book.tick(at(3_629.9)) == ()
    (change,) = book.tick(at(3_630))
    assert (change.step, change.writer, book.writers()) == (ZoneStep.LAPSED, None, ())


def test_a_script_without_a_screen_keeps_a_zone_by_writing() -> None:
    book = standing(HELD)
    book.require(at(29), "Left", ["Quay"])
    assert book.tick(at(58)) == ()
    assert [change.step for change in book.tick(at(59))] == [ZoneStep.LAPSED]


def test_a_restart_keeps_who_held_what_and_starts_their_time_anew() -> None:
    first = ZoneBook()
    changes = [
        *first.act(at(0), "Left", TakeZone("Quay"), ZONES),
        *first.act(at(1), "Left", TakeZone("House"), ZONES),
        *first.act(at(2), "Left", ReleaseZone("House"), ZONES),
    ]
    again = ZoneBook()
    again.restore(at(1_000), changes)
    assert again.writers() == (ZoneWriter("Quay", "Left", at(0).utc_us),)
    assert again.tick(at(1_029)) == ()
    assert len(again.tick(at(1_030))) == 1


def test_a_zone_that_a_production_no_longer_has_is_nobody_s() -> None:
    book = standing(HELD)
    assert book.keep_only(at(1), ZONES) == ()
    assert [change.step for change in book.keep_only(at(1), ["House"])] == [ZoneStep.GONE]
