"""Whatever is written is read as the same, in each form; what doesn't fit together is refused with its key."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from fleet.errors import InvalidDocument
from fleet.model.production import Production
from fleet.model.production_csv import read_cast, write_cast
from fleet.model.production_json import production_as_object, production_of_object
from fleet.model.production_toml import read_production, write_production
from tests.model.productions import productions
from tests.planning.evening import PRODUCTION

quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@quick
@given(productions())
def test_toml_comes_back_as_it_went(production: Production) -> None:
    assert read_production(write_production(production), "x.toml") == production


@quick
@given(productions())
def test_json_comes_back_as_it_went(production: Production) -> None:
    text = json.dumps(production_as_object(production))
    assert production_of_object(json.loads(text), "x.json") == production


@quick
@given(productions())
def test_the_cast_comes_back_and_no_cell_is_a_formula(production: Production) -> None:
    text = write_cast(production)
    assert read_cast(text, "x.csv", production) == production
    for cells in csv.reader(text.splitlines(keepends=True)):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in cells)


def test_the_cast_brings_its_zones_and_keeps_everything_else() -> None:
    text = write_cast(PRODUCTION).replace("17,Fiddler,House", "17,Fiddler,Quay")
    changed = read_cast(text, "cast.csv", PRODUCTION)
    assert changed.zones == ("House", "Quay")
    assert changed.order is PRODUCTION.order
    assert [row.zone for row in changed.positions if row.number == 17] == ["Quay"]


GOOD_CAST = write_cast(PRODUCTION)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("", "line 1"),
        (GOOD_CAST.replace("number,part", "part,number"), "line 1"),
        (GOOD_CAST.replace("3,Pilot,House", "3,Pilot"), "line 3"),
        (GOOD_CAST.replace("3,Pilot", "three,Pilot"), "line 3.number"),
        (GOOD_CAST.replace("3,Pilot", "3,"), "line 3.part"),
        (GOOD_CAST.replace("rack-3/channel/1", "rack-3"), "line 3.channel"),
        (GOOD_CAST.replace("pack/k03", "rack-3"), "line 3.pack"),
        (GOOD_CAST.replace("k03,no", "k03,perhaps"), "line 3.spare"),
        (GOOD_CAST.replace("3,Pilot", '3,"Pi"lot'), "line 3"),
        (GOOD_CAST.replace("3,Pilot", "1,Pilot"), "number"),
        # A cue names Pilot's number.
        ("\r\n".join(line for line in GOOD_CAST.splitlines() if "Pilot" not in line), "cue harbour.on_air"),
    ],
)
def test_a_wrong_cast_is_refused_with_its_line(text: str, key: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        read_cast(text, "cast.csv", PRODUCTION)
    assert (caught.value.file, caught.value.key) == ("cast.csv", key)


def changed(**members: Any) -> dict[str, Any]:
    return {**production_as_object(PRODUCTION), **members}


def in_order(**members: Any) -> dict[str, Any]:
    made = production_as_object(PRODUCTION)
    return {**made, "order": {**made["order"], **members}}


def cue(index: int, **members: Any) -> dict[str, Any]:
    cues = [dict(one) for one in production_as_object(PRODUCTION)["order"]["cues"]]
    cues[index].update(members)
    return in_order(cues=cues)


def sleep(**members: Any) -> dict[str, Any]:
    return in_order(
        sleeps=[{"sleep_id": "rest", "numbers": [1], "from_cue": "interval", "until_cue": "storm", **members}]
    )


def swap(**members: Any) -> dict[str, Any]:
    return in_order(swaps=[{"swap_id": "cells", "numbers": [1], "cue": "interval", **members}])


RACK = {"name": "House rack", "devices": ["rack-1"]}
PATH = {"feed": "House left", "input": "split/input/a", "branches": ["rack-1/carrier/1/branch/a"]}


@pytest.mark.parametrize(
    ("values", "key"),
    [
        (changed(colour=1), "colour"),
        (changed(name=""), "name"),
        (changed(zones=["House", "House"]), "zones[1]"),
        (changed(zones=["Quay"]), "position 1.zone"),
        (changed(zones="House"), "zones"),
        (changed(practice={"swap_margin_min": -1}), "practice.swap_margin_min"),
        (changed(practice={"asleep_drain_fraction": 0}), "practice.asleep_drain_fraction"),
        (changed(practice={"swap_margin": 1}), "practice.swap_margin"),
        (changed(racks=[RACK, {**RACK, "name": "Other"}]), "rack.devices"),
        (changed(racks=[RACK, {**RACK, "devices": []}]), "rack.name"),
        (changed(racks=[{**RACK, "devices": ["pack"]}]), "racks[0].devices[0]"),
        (changed(networks=[RACK, RACK]), "network.name"),
        (changed(antenna_paths=[PATH, {**PATH, "feed": "House right", "branches": []}]), "antenna_path.input"),
        (changed(antenna_paths=[PATH, {**PATH, "feed": "House right", "input": None}]), "antenna_path.branches"),
        (changed(antenna_paths=[{**PATH, "input": "split/branch/a"}]), "antenna_paths[0].input"),
        (changed(order={"acts": [], "cues": [], "scenes": []}), "order.scenes"),
        (cue(0, act="encore"), "cue quay.act"),
        (cue(2, act="prologue"), "cue interval.act"),
        (cue(1, cue_id="quay"), "cue.cue_id"),
        (cue(1, planned_start_s=599), "cue harbour.planned_start_s"),
        (cue(1, duration_s=0), "order.cues[1].duration_s"),
        (cue(1, duration_s=True), "order.cues[1].duration_s"),
        (cue(1, on_air=[1, 99]), "cue harbour.on_air"),
        (cue(1, on_air=[1, 1]), "order.cues[1].on_air[1]"),
        (cue(1, castings=[{"number": 17, "part": "Ghost"}]), "cue harbour.castings"),
        (cue(1, lights="blue"), "order.cues[1].lights"),
        (sleep(numbers=[]), "sleep rest.numbers"),
        (sleep(numbers=[99]), "sleep rest.numbers"),
        (sleep(from_cue="encore"), "sleep rest.from_cue"),
        (sleep(until_cue="harbour"), "sleep rest.until_cue"),
        (sleep(from_cue="harbour"), "sleep rest.numbers"),
        (swap(cue="encore"), "swap cells.cue"),
        (swap(cue="storm"), "swap cells.numbers"),
    ],
)
def test_what_doesn_t_fit_together_is_refused_with_its_key(values: dict[str, Any], key: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        production_of_object(values, "lamp.json")
    assert (caught.value.file, caught.value.key) == ("lamp.json", key)
    assert caught.value.expected


def test_two_sleeps_of_a_pack_at_once_are_refused() -> None:
    made = sleep()
    made["order"]["sleeps"].append({**made["order"]["sleeps"][0], "sleep_id": "again", "until_cue": None})
    with pytest.raises(InvalidDocument, match="on air in none of its cues"):
        production_of_object(made, "lamp.json")  # To the end: the storm and the dawn are among its cues.
    made["order"]["sleeps"][1]["until_cue"] = "storm"
    with pytest.raises(InvalidDocument, match="no other sleep"):
        production_of_object(made, "lamp.json")


def test_what_is_left_out_is_common_practice_and_a_day_without_a_running_order() -> None:
    plain = production_of_object({"name": "Fair", "zones": [], "positions": []}, "fair.json")
    assert plain == Production("Fair", (), ())
    assert plain.practice.swap_margin_min == 45


def test_a_start_that_is_left_out_follows_the_cue_before() -> None:
    text = write_production(PRODUCTION)
    without = "\n".join(line for line in text.splitlines() if line != "planned_start_s = 600")
    assert without != text
    assert read_production(without, "x.toml") == PRODUCTION


def test_rows_of_mixed_zones_are_written_zone_by_zone() -> None:
    mixed = replace(
        PRODUCTION,
        zones=("House", "Quay"),
        positions=tuple(
            replace(row, zone="Quay" if index % 2 else "House") for index, row in enumerate(PRODUCTION.positions)
        ),
    )
    read = read_production(write_production(mixed), "x.toml")
    assert sorted(read.positions, key=lambda row: row.number) == list(mixed.positions)
