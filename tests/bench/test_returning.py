"""Devices that come back at once: the topology kept as they describe themselves, beside one made anew for each.

Prints a table, asserts no time.
"""

from __future__ import annotations

import time

import numpy as np
import pytest

from fleet.model.device import DeviceDescription
from fleet.state.wiring import Wiring
from fleet.topology import Topology, build_topology
from tests.small_fleet import Hand, describe, produce

ROUNDS = 3


def kept(descriptions: list[DeviceDescription], names: list[str]) -> Topology:
    wiring = Wiring()
    wiring.set_production(produce(*names))
    for description in descriptions:
        wiring.put(description)
    return wiring.topology


def made_anew(descriptions: list[DeviceDescription], names: list[str]) -> Topology:
    production, known = produce(*names), dict[str, DeviceDescription]()
    topology = build_topology(known, production)
    for description in descriptions:
        known[description.device_id] = description
        topology = build_topology(known, production)
    return topology


def connected(descriptions: list[DeviceDescription], names: list[str]) -> Topology:
    """The whole pipeline: contact, description, rows, and the settings of two packs."""
    hand = Hand()
    hand.produce(*names)
    for description in descriptions:
        hand.connect(description.device_id)
    return build_topology({}, produce(*names))


@pytest.mark.parametrize("devices", [125, 250, 500])
def test_returning_beside_a_topology_made_anew(devices: int) -> None:
    names = [f"rack-{number}" for number in range(devices)]
    descriptions = [describe(name) for name in names]
    took: dict[str, list[float]] = {}
    for _ in range(ROUNDS):
        found = []
        for work in (kept, made_anew, connected):
            began = time.process_time()
            found.append(work(descriptions, names[: devices // 2]))
            took.setdefault(work.__name__, []).append((time.process_time() - began) * 1e3)
        assert found[0] == found[1]
    median = {name: float(np.median(times)) for name, times in took.items()}
    print(f"\n{devices} devices of two channels describe themselves, CPU, medians of {ROUNDS} rounds")
    print(f"  kept                 {median['kept']:9.0f} ms   {median['kept'] / devices * 1e3:6.0f} us a device")
    print(f"  made anew for each   {median['made_anew']:9.0f} ms   ratio {median['made_anew'] / median['kept']:.1f}")
    print(
        f"  the whole pipeline   {median['connected']:9.0f} ms   {median['connected'] / devices * 1e3:6.0f} us a device"
    )
