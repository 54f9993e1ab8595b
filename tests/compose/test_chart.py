"""Frequencies on the command line: found, printed, checked, refused."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from api.compose.cli import main
from fleet.planning.coordination.caution import CAUTION
from tests.planning.coordination.test_search import HOUSE


@pytest.fixture
def request_file(tmp_path: Path) -> Path:
    file = tmp_path / "house.toml"
    file.write_text(HOUSE.replace("count = 14", "count = 6"))
    return file


def test_a_plan_is_found_and_passes_its_check(request_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chart", "find", str(request_file)]) == 0
    out = capsys.readouterr()
    assert CAUTION in out.err
    plan = request_file.with_name("plan.csv")
    plan.write_text(out.out)
    assert main(["chart", "check", str(plan), "--request", str(request_file)]) == 0
    assert "0 faults" in capsys.readouterr().out


def test_as_json(request_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chart", "find", str(request_file), "--json", "--seed", "3"]) == 0
    body = json.loads(capsys.readouterr().out)
    assert set(body) == {
        "complete",
        "carriers",
        "spares",
        "worst_margin_hz",
        "at_most",
        "relaxations",
        "seed",
        "steps",
        "seconds",
    }
    assert body["complete"] is True
    assert body["worst_margin_hz"] >= 0
    assert [set(each) for each in body["carriers"]] == [{"group", "zone", "frequency_hz"}] * 6


def test_what_a_plan_breaks_is_said(request_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """480.0 and 480.4 MHz put a product on 480.8; 480.1 is too near 480.0; 500 lies outside. By hand."""
    plan = request_file.with_name("plan.csv")
    rows = [f"House,House,{hz}" for hz in (480_000_000, 480_100_000, 480_400_000, 480_800_000, 500_000_000)]
    plan.write_text("\n".join(["group,zone,frequency_hz", *rows]) + "\n")
    assert main(["chart", "check", str(plan), "--request", str(request_file), "--json"]) == 1
    faults = json.loads(capsys.readouterr().out)["faults"]
    said = {(fault["rule"], fault["frequency_hz"]) for fault in faults}
    assert ("spacing", 480_100_000) in said
    assert ("products 2A-B", 480_800_000) in said
    assert ("outside every window, or excluded", 500_000_000) in said
    assert main(["chart", "check", str(plan), "--request", str(request_file)]) == 1
    assert "480.100 MHz: spacing" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("group,frequency_hz\nHouse,480000000\n", "line 1"),
        ("group,zone,frequency_hz\nRoof,House,480000000\n", "line 2, group"),
        ("group,zone,frequency_hz\nHouse,Quay,480000000\n", "line 2, zone"),
        ("group,zone,frequency_hz\nHouse,House,480.0\n", "line 2, frequency_hz"),
        ("group,zone,frequency_hz\nHouse,House,480010000\n", "line 2, frequency_hz"),
        ("group,zone,frequency_hz\nHouse,House,480000000\nHouse,House,480000000\n", "line 3"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(
    text: str, where: str, request_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = request_file.with_name("plan.csv")
    plan.write_text(text)
    assert main(["chart", "check", str(plan), "--request", str(request_file)]) == 2
    assert where in capsys.readouterr().err


def test_a_request_that_cannot_be_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["chart", "find", str(tmp_path / "none.toml")]) == 2
    assert "none.toml: file" in capsys.readouterr().err


@pytest.mark.parametrize("form", ["page", "json", "neighbours"])
def test_a_plan_is_printed_in_every_form_with_the_caution(
    request_file: Path, capsys: pytest.CaptureFixture[str], form: str
) -> None:
    assert main(["chart", "find", str(request_file)]) == 0
    plan = request_file.with_name("plan.csv")
    plan.write_text(capsys.readouterr().out)
    given = [
        "--request",
        str(request_file),
        "--as",
        form,
        "--title",
        "The Lamp at Tern Rock",
        "--place",
        "The Lamp at Tern Rock",
    ]
    assert main(["chart", "print", str(plan), *given]) == 0
    out = capsys.readouterr().out
    assert CAUTION in out
    assert "The Lamp at Tern Rock" in out


def test_names_that_look_like_formulas_or_cells_come_back_as_they_were(
    request_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = '=1+2, "Quay"'
    request_file.write_text(HOUSE.replace('"House"', "'" + name + "'").replace("count = 14", "count = 3"))
    assert main(["chart", "find", str(request_file)]) == 0
    plan = request_file.with_name("plan.csv")
    plan.write_text(capsys.readouterr().out)
    assert [row["group"] for row in csv.DictReader(plan.read_text().splitlines())] == ["'" + name] * 3
    assert main(["chart", "check", str(plan), "--request", str(request_file)]) == 0


def test_the_same_steps_find_the_same_plan_and_spares_stand_beside_it(
    request_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    request_file.write_text(HOUSE.replace("count = 14", "count = 10\nspares = 2"))
    found = []
    for _ in range(2):
        assert main(["chart", "find", str(request_file), "--json", "--seed", "7", "--steps", "3"]) == 0
        found.append(json.loads(capsys.readouterr().out))
    assert found[0]["carriers"] == found[1]["carriers"]
    assert found[0]["spares"] == found[1]["spares"]
    assert len(found[0]["spares"]) == 2
    both = [each["frequency_hz"] for each in (*found[0]["carriers"], *found[0]["spares"])]
    assert len(set(both)) == 12


def test_what_does_not_fit_says_what_each_relaxation_brings(
    request_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By counting, 22 is the most that 24 MHz can hold: 22 carriers have 231 differences, 100 kHz apart at least."""
    request_file.write_text(HOUSE.replace("count = 14", "count = 30"))
    assert main(["chart", "find", str(request_file), "--json", "--steps", "6", "--seconds", "20"]) == 0
    body = json.loads(capsys.readouterr().out)
    assert (body["complete"], body["at_most"]) == (False, 22)
    assert len(body["carriers"]) == 16
    brought = {each["words"]: each["gain"] for each in body["relaxations"]}
    assert brought["analog: no guard against three-signal products"] > 0
    assert main(["chart", "find", str(request_file), "--steps", "2"]) == 0
    assert "no plan holds more than 22" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("count = 14\nlocked_hz = [480_000_000, 480_100_000]", "group[0].locked_hz[0]: "),
        ("count = 14\nlocked_hz = [500_000_000]", "group[0].locked_hz[0]: "),
        (
            'count = 14\ntuning = "T"\n[[tuning]]\nname = "T"\nstep_hz = 25_000\nranges = [[600_000_000, 601_000_000]]',
            "group[0].tuning: ",
        ),
        ('count = 14\n[[group]]\nname = "House"\nzone = "House"\nprofile = "analog"\ncount = 2', "group[1].name: "),
    ],
)
def test_requests_that_contradict_themselves(
    request_file: Path, capsys: pytest.CaptureFixture[str], change: str, said: str
) -> None:
    request_file.write_text(HOUSE.replace("count = 14", change))
    assert main(["chart", "find", str(request_file)]) == 2
    out = capsys.readouterr()
    assert said in out.err
    assert out.out == ""


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("", "line 1"),
        ("House,House,480000000\n", "line 1"),
        ("group,zone,frequency_hz,zone\n", "line 1"),
        ("group,zone,frequency_hz\nHouse,House,480000000,9\n", "line 2"),
        ("group,zone,frequency_hz\nHouse,House," + "4" * 5_000 + "\n", "line 2, frequency_hz"),
        ("group,zone,frequency_hz\nHouse,House,0\n", "line 2, frequency_hz"),
    ],
)
def test_plans_that_are_no_plans(request_file: Path, capsys: pytest.CaptureFixture[str], text: str, where: str) -> None:
    plan = request_file.with_name("plan.csv")
    plan.write_text(text)
    assert main(["chart", "check", str(plan), "--request", str(request_file)]) == 2
    assert f"plan.csv: {where}: " in capsys.readouterr().err


def test_what_a_plan_lacks_is_said_and_spares_are_no_carriers(
    request_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    request_file.write_text(HOUSE.replace("count = 14", "count = 2\nlocked_hz = [471_000_000]"))
    plan = request_file.with_name("plan.csv")
    plan.write_text("group,zone,frequency_hz,use\nHouse,House,480000000,carrier\nHouse,House,471000000,spare 1\n")
    assert main(["chart", "check", str(plan), "--request", str(request_file)]) == 1
    said = capsys.readouterr().out
    assert "House: 1 of 2 carriers stand" in said
    assert "House: 471000000 Hz, which is locked, isn't there" in said


def test_a_neighbour_s_list_becomes_protected_carriers(request_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plan = request_file.with_name("plan.csv")
    plan.write_text("group,zone,frequency_hz\nHouse,House,480000000\n")
    given = ["--request", str(request_file), "--as", "neighbours", "--place", "The quay"]
    assert main(["chart", "print", str(plan), *given]) == 0
    theirs = request_file.with_name("theirs.json")
    theirs.write_text(capsys.readouterr().out)
    assert main(["chart", "neighbours", str(theirs), "--raster-hz", "25000"]) == 0
    request_file.write_text(request_file.read_text() + capsys.readouterr().out)
    assert main(["chart", "find", str(request_file), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert all(abs(each["frequency_hz"] - 480_000_000) >= 400_000 for each in found["carriers"])
    theirs.write_text("{}")
    assert main(["chart", "neighbours", str(theirs)]) == 2
