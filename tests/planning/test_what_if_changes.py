"""Whom a change is about, and what is refused: then nothing is reckoned at all."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.errors import InvalidDocument
from fleet.model.forecast import CarrierName
from fleet.planning.what_if.changes import (
    CHANGES_MAXIMUM,
    AntennaMoved,
    BroadcasterOn,
    Change,
    LowestStep,
    PowerBy,
    PowerTo,
    changed,
)
from fleet.planning.what_if.forecast import forecast
from fleet.planning.what_if.known_carriers import Chosen
from fleet.planning.what_if.site import Between, Block, Site, Transmitter
from tests.planning.what_if_sites import HOUSE, QUAY, bringing

KEEPER = Transmitter(600_000_000, "Cast", "House", 10.0, position_m=(5.0, 5.0))
TERN = Transmitter(601_000_000, "Cast", "House", 10.0, position_m=(6.0, 5.0))
CHORUS = Transmitter(602_000_000, "Chorus", "House", 10.0, position_m=(7.0, 5.0))
FIDDLER = Transmitter(603_000_000, "Quay", "Quay", 10.0, distance_m=20.0)
SITE = Site((KEEPER, TERN, CHORUS, FIDDLER), (HOUSE, QUAY))


def _name(each: Transmitter) -> CarrierName:
    return CarrierName(each.group, each.frequency_hz)


@pytest.mark.parametrize(
    ("chosen", "expected"),
    [
        (Chosen(), {KEEPER, TERN, CHORUS, FIDDLER}),
        (Chosen(groups=("Cast",)), {KEEPER, TERN}),
        (Chosen(zones=("Quay",)), {FIDDLER}),
        (Chosen(carriers=(_name(TERN),), zones=("Quay",)), {TERN, FIDDLER}),
        (Chosen(zones=("House",), but=(_name(TERN),)), {KEEPER, CHORUS}),
        (Chosen(but=(_name(TERN), _name(FIDDLER))), {KEEPER, CHORUS}),
    ],
)
def test_whom_a_change_is_about(chosen: Chosen, expected: set[Transmitter]) -> None:
    after = changed(SITE, [PowerTo(chosen, 0.0, "eirp")])
    touched = {was for was, will in zip(SITE.transmitters, after.transmitters, strict=True) if was != will}
    assert touched == expected
    assert all(each.eirp_dbm in {0.0, 12.15} for each in after.transmitters)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        (PowerBy(Chosen(groups=("Crew",)), -3.0), "changes[0].chosen.groups"),
        (PowerBy(Chosen(zones=("Attic",)), -3.0), "changes[0].chosen.zones"),
        (PowerBy(Chosen(carriers=(CarrierName("Cast", 604_000_000),)), -3.0), "changes[0].chosen.carriers"),
        (PowerBy(Chosen(but=(CarrierName("Cast", 604_000_000),)), -3.0), "changes[0].chosen.but"),
        (PowerBy(Chosen(zones=("Quay",), but=(_name(FIDDLER),)), -3.0), "changes[0].chosen"),
        (LowestStep(Chosen(zones=("House",))), "changes[0].chosen"),
        (AntennaMoved("Roof", (0.0, 0.0)), "changes[0].name"),
        (AntennaMoved("Quay", (0.0, 0.0)), "changes[0].name"),
        (PowerBy(Chosen(), 91.0), "transmitters[0].power_dbm"),
        (BroadcasterOn(Block(614_000_000, 606_000_000, -60.0)), "blocks[0].stop_hz"),
    ],
)
def test_what_can_not_be_is_refused_with_its_key(change: Change, key: str) -> None:
    with pytest.raises(InvalidDocument) as refusal:
        forecast(SITE, [change])
    assert refusal.value.key == key


def test_no_more_changes_than_their_bound() -> None:
    with pytest.raises(InvalidDocument, match="at most 100"):
        forecast(SITE, [PowerBy(Chosen(), 0.0)] * (CHANGES_MAXIMUM + 1))


@pytest.mark.parametrize(
    ("site", "key"),
    [
        (Site((replace(KEEPER, zone="Attic"),), (HOUSE,)), "antennas"),
        (Site((KEEPER, KEEPER), (HOUSE,)), "transmitters[1].frequency_hz"),
        (Site((replace(KEEPER, distance_m=3.0),), (HOUSE,)), "transmitters[0].position_m"),
        (Site((replace(KEEPER, position_m=None),), (HOUSE,)), "transmitters[0].position_m"),
        (Site((replace(FIDDLER, distance_m=0.0),), (QUAY,)), "transmitters[0].distance_m"),
        (Site((replace(KEEPER, body_loss_db=-1.0),), (HOUSE,)), "transmitters[0].body_loss_db"),
        (Site((replace(KEEPER, frequency_hz=0),), (HOUSE,)), "transmitters[0].frequency_hz"),
        (Site((replace(KEEPER, bandwidth_hz=0),), (HOUSE,)), "transmitters[0].bandwidth_hz"),
        (Site((replace(KEEPER, power_dbm=float("nan")),), (HOUSE,)), "transmitters[0].power_dbm"),
        (Site((replace(KEEPER, position_m=(0.0, float("inf"))),), (HOUSE,)), "transmitters[0].position_m"),
        (Site((replace(KEEPER, steps_dbm=(0.0, 101.0)),), (HOUSE,)), "transmitters[0].steps_dbm"),
        (Site((KEEPER,), (replace(HOUSE, noise_dbm=-201.0),)), "antennas[0].noise_dbm"),
        (Site((KEEPER,), (replace(HOUSE, intercept_dbm=float("nan")),)), "antennas[0].intercept_dbm"),
        (Site((KEEPER,), (HOUSE,), (Block(1, 2, float("inf")),)), "blocks[0].level_dbm"),
        (Site((KEEPER,), (HOUSE, HOUSE)), "antennas[1].name"),
        (Site((KEEPER,), (HOUSE,), isolations=(Between(("House", "Quay"), -3.0),)), "isolations[0].isolation_db"),
        (Site((KEEPER,), tuple(replace(HOUSE, name=f"{n}") for n in range(33))), "antennas"),
        (Site(tuple(bringing(-50.0, 500_000_000 + n) for n in range(1_001)), (HOUSE,)), "transmitters"),
        (Site((KEEPER,), (HOUSE,), tuple(Block(1, 2, -60.0) for _ in range(101))), "blocks"),
    ],
)
def test_a_site_that_can_not_be_is_refused_with_its_key(site: Site, key: str) -> None:
    with pytest.raises(InvalidDocument) as refusal:
        forecast(site, [])
    assert refusal.value.key == key


def test_an_in_ear_transmitter_needs_no_antenna_in_its_zone() -> None:
    found = forecast(Site((KEEPER, replace(TERN, zone="Pit", received=False)), (HOUSE,)), [])
    assert len(found.carriers) == 1
