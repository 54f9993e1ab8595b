"""A receiver falls silent: what the screen is told, and what it is spared."""

from __future__ import annotations

from fleet.model.quality import Quality
from tests.scenarios.whole_console import WholeConsole, evening

CHANNEL, BRANCH = 3, 2
ALARM_QUAY_3 = "contact-lost:quay-3"
ALARM_HOUSE_1 = "contact-lost:house-1"


@evening
async def test_a_silent_receiver_raises_one_alarm_with_its_rows(console: WholeConsole) -> None:
    console.fault("silence", device_id="house-1")
    await console.pass_time(8.0)
    screen = console.screen
    assert screen.alarm_states(ALARM_HOUSE_1) == ["unacknowledged"]
    assert screen.alarms_of("contact-lost")[0]["priority"] == 2, "its parts are on air"
    assert [(matter["cause"], matter["rows"]) for matter in screen.matters] == [
        ("contact-lost", ["house-1/channel/1", "house-1/channel/2"])
    ]
    assert screen.alarms_of("weak-rf") == [], "a lost contact suppresses its children"


@evening
async def test_a_receiver_of_spares_alone_is_a_lesser_matter(console: WholeConsole) -> None:
    console.fault("silence", device_id="quay-3")
    await console.pass_time(8.0)
    assert [alarm["priority"] for alarm in console.screen.alarms_of("contact-lost")] == [3]


@evening
async def test_it_returns_by_itself_and_the_alarm_with_it(console: WholeConsole) -> None:
    console.fault("silence", device_id="quay-3")
    await console.pass_time(8.0)
    console.fault("speak", device_id="quay-3")
    await console.pass_time(12.0)
    assert console.screen.alarm_states(ALARM_QUAY_3) == ["unacknowledged", "returned unacknowledged"]
    assert console.screen.reading(CHANNEL, "quay-3/channel/1", "peak_dbfs")[1] is Quality.GOOD


@evening
async def test_a_gap_of_four_seconds_is_no_alarm(console: WholeConsole) -> None:
    console.fault("silence", device_id="house-1", seconds=4.0)
    await console.pass_time(15.0)
    assert console.screen.alarms_of("contact-lost") == []


@evening
async def test_a_silent_receivers_values_never_look_live(console: WholeConsole) -> None:
    assert console.screen.reading(BRANCH, "house-1/carrier/1/branch/a", "rf_dbm")[1] is Quality.GOOD
    console.fault("silence", device_id="house-1")
    await console.pass_time(2.3)
    for address in ("house-1/carrier/1/branch/a", "house-1/carrier/2/branch/b"):
        assert console.screen.reading(BRANCH, address, "rf_dbm")[1] is Quality.UNCERTAIN
    assert console.screen.reading(BRANCH, "house-2/carrier/1/branch/a", "rf_dbm")[1] is Quality.GOOD
