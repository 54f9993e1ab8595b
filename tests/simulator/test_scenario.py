from __future__ import annotations

import tomllib
from itertools import permutations
from pathlib import Path

import pytest

from fleet.errors import InvalidDocument
from simulator.scenario import (
    Antenna,
    Channel,
    Receiver,
    Scenario,
    Stranger,
    Venue,
    Walk,
    Wall,
    Zone,
    decode,
    load_text,
    names,
)
from simulator.scenario_checks import checked, load
from simulator.scenario_gear import (
    AccessPoint,
    Bay,
    Charger,
    Distribution,
    Gateway,
    InEar,
    OwnReading,
    OwnSetting,
    Scanner,
    Thing,
)
from tests.simulator.small_stage import STAGE, channel_text, receiver_text

GOOD = STAGE + receiver_text("rack-1", channel_text("p1"))
PRODUCTION = Path(__file__).parents[2] / "api" / "compose" / "tern-rock-production.toml"


@pytest.mark.parametrize("name", ["fixture", "kitchen-sink", "tern-rock"])
def test_what_comes_along_can_be_loaded(name: str) -> None:
    assert name in names()
    assert isinstance(load(name), Scenario)


@pytest.mark.parametrize(
    ("before", "after", "key"),
    [
        ('name = "A small stage"', 'name = "A small stage"\nwidth = 3', "width"),
        ('zone = "Stage"', 'zone = "Stage"\ncolour = "red"', "receiver[0].colour"),
        ('pack = "p1"', 'pack = "p1"\nfrequency = 3', "receiver[0].channel[0].frequency"),
        ('pack = "p1"', "", "receiver[0].channel[0].pack"),
        ('pack = "p1"', 'pack = "P 1"', "receiver[0].channel[0].pack"),
        ('id = "rack-1"', 'id = "pack"', "receiver[0].id"),
        ('zone = "Stage"', 'zone = "Cellar"', "receiver[0].zone"),
        ('a = "Left"', 'a = "Middle"', "receiver[0].antennas.a"),
        ('walk = "Round"', 'walk = "Nowhere"', "receiver[0].channel[0].walk"),
        ("frequency_hz = 520000000", "frequency_hz = 900000000", "receiver[0].channel[0].frequency_hz"),
        ("frequency_hz = 520000000", "frequency_hz = 520000001", "receiver[0].channel[0].frequency_hz"),
        ("frequency_hz = 520000000", "frequency_hz = 520000000.5", "receiver[0].channel[0].frequency_hz"),
        ('cells = "li-ion"', 'cells = "coal"', "receiver[0].channel[0].cells"),
        ('cells = "li-ion"', "rf_power_mw = -10.0", "receiver[0].channel[0].rf_power_mw"),
        ('cells = "li-ion"', "rf_power_mw = 11.0", "receiver[0].channel[0].rf_power_mw"),
        ('cells = "li-ion"', "low_cut_hz = 45", "receiver[0].channel[0].low_cut_hz"),
        ('cells = "li-ion"', "body_loss_db = nan", "receiver[0].channel[0].body_loss_db"),
        ("[10, 5, 10]", "[10, 5000, 10]", "walk[0].points[1]"),
        ("[10, 5, 10]", "[0, 5, 10]", "walk[0].points[1]"),
        ("[[0, -5, 10]", "[[1, -5, 10]", "walk[0].points[0]"),
        ("position_m = [5.0,", "position_m = [5000.0,", "antenna[1].position_m"),
        ("position_m = [5.0, 0.0, 3.0]", "position_m = [5.0, 0.0, nan]", "antenna[1].position_m"),
        ("maximum_m = [150.0, 50.0]", "maximum_m = [-150.0, 50.0]", "venue.maximum_m"),
        ('name = "Right"', 'name = "Left"', "antenna"),
        ('name = "A small stage"', "name = ", "document"),
    ],
)
def test_a_wrong_scenario_names_file_and_key(before: str, after: str, key: str) -> None:
    assert before in GOOD
    with pytest.raises(InvalidDocument) as caught:
        checked("wrong.toml", decode("wrong.toml", GOOD.replace(before, after, 1)))
    assert caught.value.file == "wrong.toml"
    assert caught.value.key == key
    assert caught.value.expected


@pytest.mark.parametrize(
    ("extra", "key"),
    [
        ('{ place = "device", field = "lamp", words = "lamp", value = 3, type = "boolean" }', "value"),
        ('{ place = "device", field = "fan", words = "fan", value = 30, type = "integer", maximum = 20 }', "value"),
        ('{ place = "channel", field = "trim_db", words = "trim", value = 3, type = "integer" }', "field"),
    ],
)
def test_a_setting_of_ones_own_must_make_sense(extra: str, key: str) -> None:
    text = GOOD.replace("analog = false", f"analog = false\nextra = [{extra}]")
    with pytest.raises(InvalidDocument) as caught:
        checked("wrong.toml", decode("wrong.toml", text))
    assert caught.value.key == f"receiver[0].extra[0].{key}"


def test_the_same_thing_twice_is_refused() -> None:
    twice = STAGE + receiver_text("rack-1", channel_text("p1")) + receiver_text("rack-1", channel_text("p2"))
    with pytest.raises(InvalidDocument, match="rack-1"):
        checked("twice.toml", decode("twice.toml", twice))
    packs = STAGE + receiver_text("rack-1", channel_text("p1"), channel_text("p1"))
    with pytest.raises(InvalidDocument, match="p1"):
        checked("twice.toml", decode("twice.toml", packs))


def test_a_missing_file_is_named_with_what_there_is() -> None:
    with pytest.raises(InvalidDocument, match="tern-rock"):
        load("no-such-scenario")


def test_a_file_of_ones_own_is_loaded(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text(GOOD)
    assert load(str(own)).receiver[0].id == "rack-1"


def test_a_huge_file_is_refused(tmp_path: Path) -> None:
    own = tmp_path / "huge.toml"
    own.write_text("#" * 2_000_000)
    with pytest.raises(InvalidDocument, match="bytes"):
        load(str(own))


def test_tern_rock_is_the_production_that_the_console_shows() -> None:
    scenario = load("tern-rock")
    rows = [
        (f"{receiver.id}/channel/{number}", f"pack/{channel.pack}", channel.part)
        for receiver in scenario.receiver
        for number, channel in enumerate(receiver.channel, 1)
    ]
    production = tomllib.loads(PRODUCTION.read_text())
    positions = [position for zone in production["zone"] for position in zone["position"]]
    assert rows == [(position["channel"], position["pack"], position["part"]) for position in positions]
    assert len(scenario.receiver) == 12
    analog = [receiver.id for receiver in scenario.receiver if receiver.analog]
    assert analog == ["quay-2", "quay-3"]


def test_no_third_order_product_of_the_analog_carriers_falls_on_one() -> None:
    """Common practice: 200 kHz clear of 2A - B, 150 of A + B - C; by brute force."""
    scenario = load("tern-rock")
    carriers = [c.frequency_hz for receiver in scenario.receiver if receiver.analog for c in receiver.channel]
    two = [2 * a - b for a, b in permutations(carriers, 2)]
    three = [a + b - c for a, b, c in permutations(carriers, 3)]
    assert min(abs(product - carrier) for product in two for carrier in carriers) >= 200_000
    assert min(abs(product - carrier) for product in three for carrier in carriers) >= 150_000


SINK = load_text("kitchen-sink")[1]


@pytest.mark.parametrize(
    ("before", "after", "key"),
    [
        ('antenna = "Point ceiling"', 'antenna = "Nowhere"', "access_point[0].antenna"),
        ('controlled_by = "sink-point-1"', 'controlled_by = "sink-scan-1"', "receiver[2].channel[0].controlled_by"),
        ('devices = ["sink-behind-1", ', 'devices = ["sink-nowhere", ', "gateway[0].devices"),
        (
            'inputs = { a = "Bench north", b = "Bench south",',
            'inputs = { a = "Bench north", b = "Bench north",',
            "distribution[0].inputs.b",
        ),
        ('id = "sink-charger-1"', 'id = "sink-thing-1"', "device"),
        ('id = "sink-gate-1"', 'id = "sink-wide-1"', "device"),
        ('pack = "s81", charge = 0.35', 'pack = "s81", charge = 1.35', "charger[0].bays[0].charge"),
        ('pack = "s81", charge = 0.35', 'pack = "s81", load = 0.35', "charger[0].bays[0].load"),
        ('acts = ["identify", "scan", "restart"]', 'acts = ["dance"]', "scanner[0].acts[0]"),
        ('link_media = ["hand"]', 'link_media = ["post"]', "receiver[2].link_media[0]"),
        (
            'pack = "s22"\nfrequency_hz = 561_000_000\nwalk = "Across the yard"\nhears = true',
            "",
            "receiver[3].channel[0].pack",
        ),
        ("bandwidth_hz = 8_000_000", "bandwidth_hz = 0", "stranger[0].bandwidth_hz"),
        (
            'place = "input", field = "boost_db", value = 0',
            'place = "input", field = "boost_db", value = 1',
            "distribution[0].extra[0].value",
        ),
    ],
)
def test_what_no_device_can_be_is_refused_with_its_key(before: str, after: str, key: str) -> None:
    assert before in SINK
    with pytest.raises(InvalidDocument) as caught:
        checked("wrong.toml", decode("wrong.toml", SINK.replace(before, after, 1)))
    assert caught.value.file == "wrong.toml"
    assert caught.value.key == key
    assert caught.value.expected


def test_every_key_of_a_device_is_documented() -> None:
    world = (Path(__file__).parents[2] / "docs" / "world.md").read_text(encoding="utf-8")
    kinds = (
        Receiver,
        Channel,
        Antenna,
        Stranger,
        Venue,
        Zone,
        Wall,
        Walk,
        Distribution,
        Charger,
        Bay,
        AccessPoint,
        Scanner,
        InEar,
        Thing,
        Gateway,
    )
    keys = {field for kind in (*kinds, OwnReading, OwnSetting) for field in kind.__struct_fields__}
    assert {key for key in keys if f"`{key}`" not in world} == set()
