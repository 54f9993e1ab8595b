"""What the tests of the simulator share."""

from __future__ import annotations

import pytest

from simulator.scenario_checks import load
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.small_stage import fleet_of


@pytest.fixture
def sink() -> VirtualFleet:
    """Kitchen sink, as it starts."""
    return fleet_of(load("kitchen-sink"))
