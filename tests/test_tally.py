"""What is counted of devices and ticks."""

from __future__ import annotations

import numpy as np

from fleet.model.device import ContactState
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Layout, Observation, ReadingFrame
from fleet.model.vitals import DeviceTraffic
from fleet.tally import Tally

AT = Moment(0, 0)
LAYOUT = Layout((("quay-1/carrier/1", "floor_dbm"),), 100)


def test_messages_frames_and_heartbeats_are_counted_by_device() -> None:
    tally = Tally()
    frame = ReadingFrame(LAYOUT, 9, 0, np.array([-90.0]), coalesced=3, age_us=250_000)
    tally.heard(Observation(AT, "quay-1", frame))
    tally.heard(Observation(AT, "quay-1"))
    tally.heard(Contact(AT, "quay-1", ContactState.FRESH, boot_id="b1"))
    tally.heard(Contact(AT, "quay-2", ContactState.LOST, "no fresh heartbeat for 5 s"))
    assert tally.traffic() == (DeviceTraffic("quay-1", 2, 3, 1, 0.25), DeviceTraffic("quay-2", 0, 0, 0, None))


def test_the_worst_lag_is_kept_for_ten_seconds_at_least_and_twenty_at_most() -> None:
    tally, second = Tally(), 1_000_000
    tally.ticked(1_500_000, 5 * second)
    assert (tally.lag_s, tally.worst_lag_s, tally.ticks) == (1.5, 1.5, 1)
    for now_s in range(6, 40):
        tally.ticked(-40_000, now_s * second)
        assert tally.lag_s == 0.0
        if now_s < 15:
            assert tally.worst_lag_s == 1.5
        if now_s > 25:
            assert tally.worst_lag_s == 0.0
