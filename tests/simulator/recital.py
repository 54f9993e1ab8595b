"""A run with acts at fixed times; prints the hash of all bytes that the devices sent. Run as a program."""

from __future__ import annotations

import hashlib
import sys

from simulator.scenario_checks import load
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.desk import Desk

SECONDS = 18
SINK_SECONDS = 4


def recite(seed: int, seconds: int = SECONDS) -> str:
    """The SHA-256 of everything that was said, at Tern Rock and by every device of the kitchen sink."""
    return hashlib.sha256((_tern_rock(seed, seconds) + _kitchen_sink(seed, seconds)).encode()).hexdigest()


def _kitchen_sink(seed: int, seconds: int) -> str:
    fleet = VirtualFleet(load("kitchen-sink"), seed)
    behind = {device_id: gateway.id for gateway in fleet.world.scenario.gateway for device_id in gateway.devices}
    desks = [Desk(fleet, device_id, behind=behind.get(device_id, "")).enter() for device_id in fleet.devices]
    by_id = {desk.device_id: desk for desk in desks}
    for second in range(min(seconds, SINK_SECONDS)):
        for _ in range(10):
            for desk in desks:
                desk.advance(0.1)
        if second == 0:
            span = {"start_hz": 500_000_000, "stop_hz": 520_000_000, "step_hz": 25_000}
            by_id["sink-scan-1"].act("sink-scan-1", "a1", "scan", **span)
            by_id["sink-single-1"].write("pack/s11", "a2", phantom="off")
            fleet.device_of("pack/s11").hand("pack/s11")
    return _hash_of(desks)


def _hash_of(desks: list[Desk]) -> str:
    digest = hashlib.sha256()
    for desk in desks:
        for data in desk.wire:
            digest.update(data + b"\n")
    return digest.hexdigest()


def _tern_rock(seed: int, seconds: int) -> str:
    fleet = VirtualFleet(load("tern-rock"), seed)
    desks = [Desk(fleet, device_id).enter() for device_id in ("house-1", "quay-2", "camera-1")]
    for second in range(seconds):
        for _ in range(10):
            for desk in desks:
                desk.advance(0.1)
        _act(fleet, desks, second)
    return _hash_of(desks)


def _act(fleet: VirtualFleet, desks: list[Desk], second: int) -> None:
    match second:
        case 3:
            desks[0].write("pack/k01", "c1", rf_power_mw=50.0)
        case 6:
            desks[1].write("quay-2/carrier/1", "c2", frequency_hz=606_025_000)
        case 9:
            desks[2].write("pack/k24", "c3", standby=True)
        case 12:
            fleet.device("house-1").turn_panel("house-1/channel/2", {"trim_db": 3})
        case 15:
            fleet.world.packs[0].kill_cells()
            fleet.world.touch()
        case _:
            pass


if __name__ == "__main__":
    sys.stdout.write(recite(int(sys.argv[1])))
