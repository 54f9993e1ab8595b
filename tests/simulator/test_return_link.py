from __future__ import annotations

import pytest

from fleet.model.fields import GOODBYES
from simulator.luck import Luck
from simulator.pack import Pack
from simulator.return_link import NEWS_MAXIMUM, REQUESTS_MAXIMUM, Declined, Delivered, Noticed, ReturnLink, Undelivered
from simulator.scenario import Channel

DELAY_US = 120_000


@pytest.fixture
def link() -> ReturnLink:
    return ReturnLink(Pack(Channel("Part", "p1", 520_000_000, "Round"), Luck(1)), DELAY_US / 1000)


def test_a_request_takes_the_delay(link: ReturnLink) -> None:
    link.send("c1", {"muted": True}, 0)
    assert not link.advance(DELAY_US - 1)
    assert link.advance(DELAY_US)
    assert link.take_news() == [Delivered("c1", {"muted": True})]
    assert link.known_settings["muted"] is True
    assert not link.busy


def test_a_held_request_waits_however_long_and_is_delivered_once(link: ReturnLink) -> None:
    link.held = True
    link.send("c1", {"muted": True}, 0)
    link.advance(3_600_000_000)
    assert (link.busy, link.take_news()) == (True, [])
    link.held = False
    link.advance(3_600_000_001)
    link.advance(3_600_000_002)
    assert link.take_news() == [Delivered("c1", {"muted": True})]


@pytest.mark.parametrize("fault", ["dropped", "too far", "dead"])
def test_a_lost_request_is_undelivered_after_three_seconds_and_never_tried_again(link: ReturnLink, fault: str) -> None:
    link.dropped = fault == "dropped"
    link.in_range = fault != "too far"
    if fault == "dead":
        link.pack.kill_cells()
    link.send("c1", {"muted": True}, 0)
    link.advance(2_999_999)
    assert link.take_news() == []
    link.advance(3_000_000)
    assert link.take_news() == [Undelivered("c1")]
    link.dropped, link.in_range = False, True
    link.advance(9_000_000)
    assert link.pack.settings["muted"] is False


def test_what_somebody_set_in_the_hand_is_noticed_by_a_poll(link: ReturnLink) -> None:
    link.pack.apply({"input_trim_db": 6.0})
    link.dropped = True
    link.poll(1_000_000, heard=False)
    assert link.take_news() == []
    link.dropped = False
    link.poll(2_000_000, heard=False)
    assert link.take_news() == [Noticed({"input_trim_db": 6.0})]
    assert link.quality == 0.5


def test_quality_is_the_share_of_the_last_ten_polls(link: ReturnLink) -> None:
    for second in range(20):
        link.dropped = second >= 14
        link.poll(second * 1_000_000, heard=False)
    assert link.quality == 0.4
    assert link.last_seen_us == 13_000_000


def test_a_pack_that_is_heard_is_seen_though_it_does_not_reply(link: ReturnLink) -> None:
    link.dropped = True
    link.poll(5_000_000, heard=True)
    assert (link.last_seen_us, link.quality) == (5_000_000, 0.0)


@pytest.mark.parametrize(
    ("fault", "heard_before", "hears"), [("", False, True), ("dropped", True, True), ("dropped", False, False)]
)
def test_a_pack_that_dies_says_so_once_if_anything_carries_it(
    link: ReturnLink, fault: str, heard_before: bool, hears: bool
) -> None:
    link.dropped = fault == "dropped"
    link.poll(1_000_000, heard=heard_before)
    link.pack.kill_cells()
    for second in (2, 3, 4):
        link.poll(second * 1_000_000, heard=False)
    assert GOODBYES[link.known.goodbye] == ("cells" if hears else "none")
    assert link.last_seen_us == (2_000_000 if hears else 1_000_000 if heard_before else 0)


def test_a_goodbye_waits_in_a_held_link_and_none_is_said_by_a_dead_pack_that_comes_into_range(link: ReturnLink) -> None:
    link.held = True
    link.pack.kill_cells()
    link.poll(1_000_000, heard=False)
    assert GOODBYES[link.known.goodbye] == "none"
    link.held = False
    link.poll(2_000_000, heard=False)
    link.poll(3_000_000, heard=False)
    assert (GOODBYES[link.known.goodbye], link.last_seen_us) == ("cells", 2_000_000)


def test_a_sleeper_takes_a_wake_and_declines_the_rest(link: ReturnLink) -> None:
    link.pack.apply({"standby": True})
    link.send("c1", {"muted": True}, 0)
    link.send("c2", {"standby": False}, 0)
    link.advance(2_000_000)
    assert link.take_news() == [Declined("c1", "the pack is asleep"), Delivered("c2", {"standby": False})]


def test_requests_and_news_are_bounded(link: ReturnLink) -> None:
    link.held = True
    for number in range(REQUESTS_MAXIMUM):
        assert not link.full
        link.send(f"c{number}", {"muted": True}, 0)
    assert link.full
    link.forget()
    link.held = False
    for number in range(NEWS_MAXIMUM + 10):
        link.pack.apply({"name": str(number)})
        link.poll(0, heard=False)
    assert len(link.take_news()) == NEWS_MAXIMUM
