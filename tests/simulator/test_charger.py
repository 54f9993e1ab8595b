from __future__ import annotations

import pytest

from fleet.model.fields import CHARGE_STATES
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.sink import desk_of, throw


def test_a_charger_fills_what_may_be_filled(sink: VirtualFleet) -> None:
    desk = desk_of(sink, "sink-charger-1")
    desk.advance(1.0)
    states = [desk.last(f"sink-charger-1/bay/{number}", "charge_state") for number in range(1, 9)]
    wanted = ["charging", "charging", "full", "charging", "empty", "too hot", "fault", "empty"]
    assert [CHARGE_STATES[int(state or 0)] for state in states] == wanted
    before = desk.last("sink-charger-1/bay/1", "battery_fraction") or 0.0
    desk.now_us += 107_900_000  # With the next block, a hundredth of three hours.
    desk.advance(0.1)
    assert (desk.last("sink-charger-1/bay/1", "battery_fraction") or 0.0) == pytest.approx(before + 0.01, abs=0.002)
    assert desk.last("sink-charger-1/bay/6", "battery_fraction") == 0.5
    throw(desk, "fill_bay", address="sink-charger-1/bay/5", content={"pack": "s85", "charge": 0.2})
    desk.advance(0.2)
    assert desk.exact("sink-charger-1/bay/5", "identity") == "pack/s85"
