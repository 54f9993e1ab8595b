"""The simulated world's cost for each channel at 24, 200 and 1,000 channels, beside bare fading of as many branches.

The baseline is what nobody can do without: as many scatterers of as many branches turned ten times a block, by numpy.
Processor time, the median of short pieces, both in the same run. Nothing is asserted of a time.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np

from simulator.fades import SCATTERERS
from simulator.scenario import Scenario, decode
from simulator.scenario_checks import checked
from simulator.spectrum import SAMPLES_PER_BLOCK
from simulator.virtual_fleet import VirtualFleet

SIZES = (24, 200, 1_000)
IN_A_ZONE = 24
PIECES, PIECE_BLOCKS = 7, 20
BLOCK_US = 100_000
SEED = 1


def stage(channels: int) -> Scenario:
    """As many channels, 24 to a zone, each zone a hall of its own 150 m further on."""
    zones = -(-channels // IN_A_ZONE)
    text = 'name = "Halls"\n[venue]\nshadow_db = 2.0\nminimum_m = [-20.0, -20.0]\n'
    text += f"maximum_m = [{150.0 * zones + 20.0}, 40.0]\n"
    text += '[[zone]]\nname = "Hall"\n'
    for zone in range(zones):
        x_m = 150.0 * zone
        text += f'[[antenna]]\nname = "L{zone}"\nposition_m = [{x_m - 2}, 0.0, 3.0]\n'
        text += f'[[antenna]]\nname = "R{zone}"\nposition_m = [{x_m + 2}, 0.0, 3.0]\n'
        text += f'[[walk]]\nname = "W{zone}"\npoints = [[0, {x_m - 8}, 6], [20, {x_m + 8}, 12], [40, {x_m - 8}, 6]]\n'
    for number in range(0, channels, 2):
        zone = number // IN_A_ZONE
        text += f'[[receiver]]\nid = "rack-{number}"\nzone = "Hall"\nform = "receiver"\n'
        text += f'antennas = {{ a = "L{zone}", b = "R{zone}" }}\n'
        for each in (number, number + 1):
            hz = 480_000_000 + (each % IN_A_ZONE) * 600_000 + (zone % 12) * 15_000_000
            text += f'[[receiver.channel]]\npart = "P{each}"\npack = "p{each}"\nfrequency_hz = {hz}\nwalk = "W{zone}"\n'
            text += f"walk_offset_s = {each % IN_A_ZONE}\n"
    return checked("halls.toml", decode("halls.toml", text))


def pieces(turn: Callable[[], None]) -> float:
    """Milliseconds of processor time for each block, the median of some pieces."""
    found = []
    for _ in range(PIECES):
        began = time.process_time()
        for _ in range(PIECE_BLOCKS):
            turn()
        found.append(1e3 * (time.process_time() - began) / PIECE_BLOCKS)
    return statistics.median(found)


def world(channels: int) -> float:
    """The world with its receivers, nobody listening."""
    fleet, now = VirtualFleet(stage(channels), SEED), [0]

    def turn() -> None:
        now[0] += BLOCK_US
        fleet.advance(now[0])

    turn()
    return pieces(turn)


def bare_fading(channels: int) -> float:
    """Phasors of two branches a channel, turned and summed at each sample."""
    luck = np.random.default_rng(SEED)
    phasors = np.exp(2j * np.pi * luck.uniform(size=(channels, 2, SCATTERERS))).astype(np.complex64)
    rotation = np.exp(0.01j * luck.uniform(size=(channels, 1, SCATTERERS))).astype(np.complex64)

    def turn() -> None:
        for _ in range(SAMPLES_PER_BLOCK):
            np.multiply(phasors, rotation, out=phasors)
            np.abs(phasors.sum(axis=-1)) ** 2

    return pieces(turn)


def test_cost_of_a_channel() -> None:
    print(f"\nthe simulated world, medians of {PIECES} pieces of {PIECE_BLOCKS} blocks, seed {SEED}")
    head = f"{'channels':>9}{'world ms/block':>16}{'us a channel':>14}{'bare fading ms':>16}{'world / bare':>14}"
    print(head + f"{'% of real time':>16}")
    for channels in SIZES:
        whole, bare = world(channels), bare_fading(channels)
        costs = f"{whole:>16.2f}{1e3 * whole / channels:>14.1f}{bare:>16.2f}{whole / bare:>14.2f}"
        print(f"{channels:>9}{costs}{whole:>16.1f}")
        assert whole > 0.0
