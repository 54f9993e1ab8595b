"""A fleet with no room for another device: that one is left out, said once, and nothing else is hurt."""

from __future__ import annotations

import pytest

import fleet.readings
import fleet.state.fleet_state
from fleet.model.device import ContactState
from fleet.model.event import NoticeReceived
from fleet.model.moment import Moment
from fleet.model.observation import Contact
from fleet.state.fleet_state import FleetState


def test_a_device_beyond_the_rows_is_left_out_with_one_notice(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (fleet.readings, fleet.state.fleet_state):
        monkeypatch.setattr(module, "ROWS_MAXIMUM", 2)
    state = FleetState()

    def hear(device_id: str) -> list[NoticeReceived]:
        events = state.contact(Contact(Moment(0, 0), device_id, ContactState.FRESH, reached_through="gate-1"))
        return [event for event in events if isinstance(event, NoticeReceived)]

    said = [notice for device_id in ("one", "two", "three", "three", "four") for notice in hear(device_id)]
    assert [(notice.device_id, notice.code) for notice in said] == [("gate-1", "device-left-out")]
    state.tick(Moment(1, 1))
    assert [device.device_id for device in state.devices()] == ["one", "two"]
