from __future__ import annotations

import numpy as np
import pytest

from fleet.physics.noise import noise_power_dbm
from simulator.luck import Luck
from simulator.paths import Emission, Paths
from simulator.rows import rows_of
from simulator.spectrum import NOBODY, Names, Probe, RadioBlock, Spectrum
from simulator.venue import sites_of
from simulator.ways import near_packs
from tests.simulator.small_stage import channel_text, fleet_of, receiver_text, scenario, watch
from tests.simulator.still import still, strolling

PLACES = [[-5.0, 10.0, 3.0], [-5.0, 20.0, 3.0], [-5.0, 30.0, 3.0]]
CARRIERS_HZ = np.array([520, 521, 522]) * 1_000_000


def _emission(frequencies: list[int], on: list[bool]) -> Emission:
    return still(PLACES, frequencies, on=on)


def _blocks(emission: Emission, count: int) -> list[RadioBlock]:
    """What three carriers see of three packs whose wearers mark time."""
    names = [f"p{row}" for row in range(3)]
    stage = scenario(receiver_text("rack-1", *(channel_text(name) for name in names)))
    rows = rows_of(stage)
    luck = Luck(1)
    sites, paths = sites_of(stage, [row.receiver for row in rows]), Paths(stage, luck)
    spectrum = Spectrum(sites, paths, Names([row.carrier for row in rows], names), luck, Probe())
    near = near_packs(CARRIERS_HZ, emission.sent.frequency_hz, None)
    spectrum.tune(near & emission.sent.on, emission)
    return [spectrum.advance(strolling(emission, block)) for block in range(count)]


def _mostly_heard(emission: Emission) -> list[int]:
    heard = np.array([block.heard for block in _blocks(emission, 100)])
    return [int(np.bincount(row + 1).argmax()) - 1 for row in heard.T]


@pytest.mark.parametrize(
    ("frequencies", "on", "heard"),
    [
        ([520, 521, 522], [True, True, True], [0, 1, 2]),
        ([520, 521, 522], [True, False, True], [0, NOBODY, 2]),
        ([520, 520, 520], [True, True, True], [0, NOBODY, NOBODY]),
        ([522, 522, 522], [False, True, True], [NOBODY, NOBODY, 1]),
        ([521, 522, 520], [True, True, True], [2, 0, 1]),
        ([530, 531, 532], [True, True, True], [NOBODY] * 3),
    ],
)
def test_each_carrier_hears_the_strongest_of_those_on_its_frequency(
    frequencies: list[int], on: list[bool], heard: list[int]
) -> None:
    """The carriers stand at 520, 521 and 522 MHz; the packs stand 10, 20 and 30 m away, the first being strongest."""
    assert _mostly_heard(_emission([frequency * 1_000_000 for frequency in frequencies], on)) == heard


def test_a_carrier_holds_on_to_a_pack_a_little_beside_it() -> None:
    assert _mostly_heard(_emission([520_025_000, 521_050_000, 521_975_000], [True] * 3)) == [0, NOBODY, 2]


def test_mean_level_is_the_link_budget() -> None:
    """ITU-R P.525 by hand: 46.768 dB over 10 m at 520 MHz; five minutes of fading average out."""
    emission = _emission([520_000_000, 521_000_000, 522_000_000], [True] * 3)
    mean_mw = np.mean([block.mean_mw[0, 0] for block in _blocks(emission, 3000)])
    assert 10.0 * np.log10(mean_mw) == pytest.approx(-46.768, abs=0.5)


def test_without_a_carrier_there_is_the_floor_and_it_lies_above_a_receivers_own_noise() -> None:
    """The floor of the site is -105 dBm; k T0 B in 200 kHz with 6 dB of noise figure is -114.965."""
    blocks = _blocks(_emission([530_000_000] * 3, [True] * 3), 300)
    floor_dbm = 10.0 * np.log10(np.mean([block.mean_mw for block in blocks]))
    assert floor_dbm == pytest.approx(-105.0, abs=0.05)
    assert floor_dbm > noise_power_dbm(200e3, 6.0)
    assert all(np.all(block.loss == 1.0) and np.all(block.squelched == 1.0) for block in blocks)


def test_two_equal_packs_on_one_frequency_spoil_each_other() -> None:
    """Common practice: within 6 dB of each other, quality 0 to 0.4 and the identity alternates."""
    stage = scenario(receiver_text("rack-1", channel_text("p1"), channel_text("p2", 520_000_000)))
    fleet = fleet_of(stage)
    shown = watch(fleet, 30.0)
    assert np.median(shown["link_quality"][:, 0]) <= 0.4
    fleet.world.packs[1].apply({"standby": True})
    fleet.world.touch()
    assert np.median(watch(fleet, 10.0)["link_quality"][-50:, 0]) == 1.0
