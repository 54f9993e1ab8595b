"""Forecasts held to published levels: ITU-R P.525, noise in a bandwidth, products of the third order by arithmetic."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fleet.model.forecast import CarrierForecast, CarrierMargins, CarrierName
from fleet.planning.what_if.changes import AntennaMoved, BroadcasterOn, LowestStep, PowerBy, PowerTo
from fleet.planning.what_if.forecast import CAUTION, COMPRESSION_BELOW_INTERCEPT_DB, forecast
from fleet.planning.what_if.known_carriers import Chosen
from fleet.planning.what_if.levels import levels_dbm
from fleet.planning.what_if.margins import margins
from fleet.planning.what_if.site import Antenna, Between, Block, Site, Transmitter
from tests.planning.what_if_sites import HOUSE, QUAY, bringing

NEAR_DB = 0.03  # The carriers of a test stand up to 2 MHz beside 600 MHz.
VICTIM_HZ = 599_600_000
MAKERS_HZ = (600_000_000, 600_400_000)  # 2A - B falls on 599.6 and 600.8 MHz.


def _of(site: Site, frequency_hz: int) -> CarrierMargins:
    found = {each.frequency_hz: margin for each, margin in zip(site.transmitters, margins(site), strict=True)}
    margin = found[frequency_hz]
    assert margin is not None
    return margin


def _pair(level_dbm: float, victim_dbm: float, intercept_dbm: float) -> Site:
    makers = tuple(bringing(level_dbm, hz) for hz in MAKERS_HZ)
    return Site((bringing(victim_dbm, VICTIM_HZ), *makers), (replace(HOUSE, intercept_dbm=intercept_dbm),))


@pytest.mark.parametrize(
    ("frequency_hz", "distance_m", "loss_db"),
    [(600_000_000, 10, 48.011), (600_000_000, 30, 57.553), (470_000_000, 100, 65.890), (694_000_000, 50, 63.254)],
)
def test_levels_fall_as_free_space_says(frequency_hz: int, distance_m: float, loss_db: float) -> None:
    """ITU-R P.525, by place and by distance; e.r.p. counts 2.15 dB more than e.i.r.p. (Radio Regulations, art. 1)."""
    by_place = Transmitter(
        frequency_hz, "House", "House", 10.0, "eirp", position_m=(0.6 * distance_m, 0.8 * distance_m)
    )
    by_distance = Transmitter(frequency_hz, "Host", "House", 10.0, "erp", distance_m=distance_m, body_loss_db=15.0)
    found = levels_dbm(Site((by_place, by_distance), (HOUSE, replace(HOUSE, name="Boosted", gain_db=3.0))))
    expected = [10.0 - loss_db, 10.0 + 2.15 - loss_db - 15.0]
    assert found == pytest.approx(np.array([expected, [each + 3.0 for each in expected]]), abs=0.005)


def test_a_link_budget() -> None:
    """10 dBm e.i.r.p., 30 m, 600 MHz: -47.553 dBm; over -114.965 dBm, 67.41 dB (composite of P.525 and k T0 B)."""
    site = Site((Transmitter(600_000_000, "House", "House", 10.0, "eirp", distance_m=30.0),), (HOUSE,))
    found = _of(site, 600_000_000)
    assert found.level_dbm == pytest.approx(-47.553, abs=0.005)
    assert found.over_noise_db == pytest.approx(67.41, abs=0.02)
    assert (found.over_products_db, found.over_others_db, found.worst) == (None, None, None)
    assert found.over_all_db == pytest.approx(67.41, abs=0.02)


def test_a_budget_of_the_trade() -> None:
    """Common practice: 50 mW e.r.p., 30 m, 600 MHz, 0 dBi and 15 dB of body come to about -53 dBm."""
    pack = Transmitter(600_000_000, "House", "House", 16.990, distance_m=30.0, body_loss_db=15.0)
    assert _of(Site((pack,), (HOUSE,)), 600_000_000).level_dbm == pytest.approx(-53.0, abs=0.5)


@pytest.mark.parametrize(
    ("level_dbm", "intercept_dbm", "product_dbm"), [(-30, 0, -90), (-20, 10, -80), (-40, -10, -100)]
)
def test_a_product_of_two(level_dbm: float, intercept_dbm: float, product_dbm: float) -> None:
    """3P - 2 IIP3; 600.0 and 600.4 MHz make 599.6 and 600.8."""
    found = _of(_pair(level_dbm, -50.0, intercept_dbm), VICTIM_HZ)
    assert found.over_products_db == pytest.approx(-50.0 - product_dbm, abs=NEAR_DB)
    assert found.worst is not None
    assert (found.worst.family, found.worst.frequency_hz) == ("2A-B", VICTIM_HZ)
    assert found.worst.makers == (CarrierName("House", 600_000_000), CarrierName("House", 600_400_000))
    assert found.worst.level_dbm == pytest.approx(product_dbm, abs=NEAR_DB)
    assert found.worst.is_proven


def test_a_product_of_three() -> None:
    """600.0, 600.4 and 601.0 MHz make 599.4 MHz, 6.02 dB above a product of two: -83.98 dBm from three at -30."""
    makers = tuple(bringing(-30.0, hz) for hz in (600_000_000, 600_400_000, 601_000_000))
    found = _of(Site((bringing(-50.0, 599_400_000), *makers), (HOUSE,)), 599_400_000)
    assert found.over_products_db == pytest.approx(33.98, abs=2 * NEAR_DB)
    assert found.worst is not None
    assert found.worst.family == "A+B-C"
    assert {each.frequency_hz for each in found.worst.makers[:2]} == {600_000_000, 600_400_000}
    assert found.worst.makers[2] == CarrierName("House", 601_000_000)


@pytest.mark.parametrize(("victim_too", "gained_db"), [(False, 18.0), (True, 12.0)])
def test_what_lower_culprits_gain(victim_too: bool, gained_db: float) -> None:
    """Common practice, and arithmetic: x dB less make products 3x weaker; 3x is gained, or 2x by who is lowered too."""
    site = _pair(-30.0, -50.0, 0.0)
    carriers = tuple(CarrierName("House", hz) for hz in (MAKERS_HZ + ((VICTIM_HZ,) if victim_too else ())))
    found = forecast(site, [PowerBy(Chosen(carriers=carriers), -6.0)])
    victim = found.carriers[0]
    assert victim.before.over_products_db is not None
    assert victim.after.over_products_db is not None
    assert victim.after.over_products_db - victim.before.over_products_db == pytest.approx(gained_db, abs=1e-6)
    assert victim.after.over_noise_db - victim.before.over_noise_db == pytest.approx(-6.0 if victim_too else 0.0)


def test_everyone_off_stage_drops_to_one_milliwatt() -> None:
    """Two at 10 mW in the wings, one on stage: 10 dB less, and 30 dB off their product on it."""
    wings = tuple(Transmitter(hz, "Chorus", "House", 10.0, position_m=(3.0, 4.0)) for hz in MAKERS_HZ)
    keeper = Transmitter(VICTIM_HZ, "Cast", "House", 10.0, position_m=(30.0, 0.0))
    everyone_else = Chosen(zones=("House",), but=(CarrierName("Cast", VICTIM_HZ),))
    found = {
        each.frequency_hz: each
        for each in forecast(Site((keeper, *wings), (HOUSE,)), [PowerTo(everyone_else, 0.0)]).carriers
    }
    assert _product_gain_db(found[VICTIM_HZ]) == pytest.approx(30.0, abs=1e-6)
    assert found[VICTIM_HZ].gain_db > 20.0
    for hz in MAKERS_HZ:
        assert found[hz].after.level_dbm - found[hz].before.level_dbm == pytest.approx(-10.0)


def _product_gain_db(each: CarrierForecast) -> float:
    assert each.before.over_products_db is not None
    assert each.after.over_products_db is not None
    return each.after.over_products_db - each.before.over_products_db


def test_a_zone_goes_down_to_its_lowest_step() -> None:
    """Each to its own: 1, 2 and 50 mW packs, of which two can do 0 dBm and one 3 dBm."""
    steps = {601_000_000: (0.0, 10.0, 17.0), 602_000_000: (17.0, 0.0), 603_000_000: (3.0, 10.0)}
    packs = tuple(Transmitter(hz, "Cast", "House", 10.0, distance_m=20.0, steps_dbm=each) for hz, each in steps.items())
    found = forecast(Site(packs, (HOUSE,)), [LowestStep(Chosen(zones=("House",)))])
    fallen = [each.after.level_dbm - each.before.level_dbm for each in found.carriers]
    assert fallen == pytest.approx([-10.0, -10.0, -7.0])


def test_an_antenna_is_moved() -> None:
    """From 30 m to 10 m: 57.553 - 48.011 dB at 600 MHz (P.525)."""
    pack = Transmitter(600_000_000, "Cast", "House", 10.0, position_m=(30.0, 0.0))
    found = forecast(Site((pack,), (HOUSE,)), [AntennaMoved("House left", (20.0, 0.0))])
    assert found.carriers[0].gain_db == pytest.approx(57.553 - 48.011, abs=0.005)


@pytest.mark.parametrize(
    ("frequency_hz", "noise_dbm"), [(610_000_000, -76.02), (606_000_000, -79.03), (600_000_000, -114.965)]
)
def test_a_broadcaster_comes_on(frequency_hz: int, noise_dbm: float) -> None:
    """Channel 38 of 8 MHz, 606 to 614 MHz: of -60 dBm a fortieth falls into 200 kHz, half of that at its very edge."""
    pack = bringing(-50.0, frequency_hz)
    block = Block(606_000_000, 614_000_000, -60.0, "channel 38")
    found = forecast(Site((pack,), (HOUSE,)), [BroadcasterOn(block)]).carriers[0]
    assert found.before.over_noise_db == pytest.approx(found.before.level_dbm + 114.965)
    assert found.after.level_dbm - found.after.over_noise_db == pytest.approx(noise_dbm, abs=0.005)


def test_several_changes_at_once() -> None:
    pack = Transmitter(610_000_000, "Cast", "House", 10.0, position_m=(30.0, 0.0), steps_dbm=(0.0, 10.0))
    site = Site((pack,), (HOUSE,))
    changes = (
        LowestStep(Chosen()),
        AntennaMoved("House left", (20.0, 0.0)),
        BroadcasterOn(Block(606_000_000, 614_000_000, -90.0)),
    )
    found = forecast(site, changes).carriers[0]
    noise_dbm = 10.0 * np.log10(10.0 ** (-114.965 / 10.0) + 10.0 ** ((-90.0 - 16.0206) / 10.0))
    assert found.after.level_dbm - found.before.level_dbm == pytest.approx(-10.0 + 9.542, abs=0.005)
    assert found.after.level_dbm - found.after.over_noise_db == pytest.approx(noise_dbm, abs=0.005)
    assert site == Site((pack,), (HOUSE,)), "what was there before stays as it is"


def test_a_wider_carrier_takes_more_noise() -> None:
    """k T0 B: -116.194 dBm in 600 kHz against -120.965 in 200 kHz."""
    narrow = Transmitter(600_000_000, "Cast", "House", 10.0, distance_m=30.0)
    wide = replace(narrow, frequency_hz=601_000_000, bandwidth_hz=600_000)
    site = Site((narrow, wide), (replace(HOUSE, noise_dbm=-120.965),))
    noise_dbm = [_of(site, hz).level_dbm - _of(site, hz).over_noise_db for hz in (600_000_000, 601_000_000)]
    assert noise_dbm == pytest.approx([-120.965, -116.194], abs=0.005)


def test_zones_hear_one_another_by_the_isolation_that_was_measured() -> None:
    """Two on one frequency in two zones: 35 dB apart by isolation, whatever free space would say."""
    here, there = bringing(-50.0, 600_000_000), bringing(-50.0, 600_000_000, "Quay", zone="Quay")
    both = (here, there)
    measured = Site(both, (HOUSE, QUAY), isolations=(Between(("House", "Quay"), 35.0),))
    assert [each.over_others_db for each in margins(measured) if each] == pytest.approx([35.0, 35.0])
    complete = Site(both, (HOUSE, QUAY), isolations=(Between(("Quay", "House")),))
    assert [each.over_others_db for each in margins(complete) if each] == [None, None]
    unknown = Site(both, (HOUSE, QUAY))
    assert [each.over_others_db for each in margins(unknown) if each] == pytest.approx([0.0, 0.0])


def test_each_carrier_stands_at_the_best_antenna_of_its_zone() -> None:
    near = Transmitter(600_000_000, "Cast", "House", 10.0, position_m=(39.0, 0.0))
    right = Antenna("House right", "House", (40.0, 0.0), noise_dbm=-114.965)
    found = _of(Site((near,), (HOUSE, right, replace(QUAY, position_m=(39.5, 0.0)))), 600_000_000)
    assert found.antenna == "House right"


def test_who_is_not_received_still_makes_products() -> None:
    site = _pair(-30.0, -50.0, 0.0)
    in_ear = tuple(replace(each, received=False, group="In-ear") for each in site.transmitters[1:])
    found = forecast(Site((site.transmitters[0], *in_ear), site.antennas), [])
    assert [each.group for each in found.carriers] == ["House"]
    assert found.carriers[0].before.over_products_db == pytest.approx(40.0, abs=NEAR_DB)


def test_a_front_end_that_compresses_is_not_trusted() -> None:
    """A pure cubic loses 1 dB where 10^(-1/20) of the amplitude is left, the sampled one of numpy says so too."""
    moments = 2.0 * np.pi * np.arange(4_096) / 4_096
    amplitude = 10.0 ** (-COMPRESSION_BELOW_INTERCEPT_DB / 20.0)  # The intercept is at 0 dB.
    bent = amplitude * np.cos(400 * moments) - 4.0 / 3.0 * (amplitude * np.cos(400 * moments)) ** 3
    gained_db = 20.0 * np.log10(np.abs(np.fft.rfft(bent)[400]) / 2_048 / amplitude)
    assert gained_db == pytest.approx(-1.0, abs=0.001)
    loud = bringing(-9.0, 600_000_000)
    assert [load.is_trusted for load in forecast(Site((loud,), (HOUSE,)), []).loads] == [False]
    quiet = forecast(Site((loud,), (HOUSE,)), [PowerBy(Chosen(), -10.0)]).loads[0]
    assert not quiet.is_trusted, "the figures before the change can't be trusted either"
    assert (quiet.before_dbm, quiet.after_dbm) == pytest.approx((-9.0, -19.0), abs=NEAR_DB)


def test_an_antenna_that_hears_nothing_has_no_load() -> None:
    alone = Site((bringing(-50.0, 600_000_000),), (HOUSE, QUAY), isolations=(Between(("House", "Quay")),))
    loads = forecast(alone, []).loads
    assert (loads[1].before_dbm, loads[1].after_dbm, loads[1].is_trusted) == (None, None, True)
    assert forecast(Site((), (HOUSE,)), []).carriers == ()


def test_every_forecast_bears_the_caution() -> None:
    assert forecast(_pair(-30.0, -50.0, 0.0), []).caution == CAUTION
    assert "walk test governs" in CAUTION
