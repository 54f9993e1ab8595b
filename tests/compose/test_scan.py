"""Surveys on the command line: understood, shown, refused."""

from __future__ import annotations

import json
import os
import tomllib
from pathlib import Path

import pytest

from api.compose.cli import main
from api.compose.scan import age_in_words
from fleet.planning.coordination.caution import CAUTION

# -105 dBm from 470 MHz up in steps of 25 kHz; a carrier at 471.0 MHz, and block 22 (478 to 486 MHz) full at -70 dBm.
ROWS = [
    f"{470_000 + 25 * point};{'-50,0' if point == 40 else '-70,0' if 320 <= point < 640 else '-105,0'}"
    for point in range(1_280)
]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    file = tmp_path / "quay.csv"
    file.write_text("Frequency (kHz);Level (dBm)\n" + "\n".join(ROWS) + "\n")
    os.utime(file, (1_700_000_000, 1_700_000_000))
    return file


def test_what_a_file_shows(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    options = ["--place", "Quay", "--instrument", "wand", "--region", "region-1", "--bandwidth", "25000"]
    assert main(["scan", "import", str(file), *options]) == 0
    said = capsys.readouterr()
    for words in (
        "1281 lines, 1 sweeps, 1280 points",
        "frequencies in kHz, as the header says",
        "470.0000 to 501.9750 MHz in steps of 25000 Hz",
        "Quay; with wand",
        "2023-11-14 22:13 UTC",
        "days ago (the file's own date",
        "-105.0 to -105.0 dBm; what stands 10.0 dB above",
        "471.0000 MHz   -50.0 dBm  55.0 dB above  25 kHz wide",
        "22: 478.0000 to 486.0000 MHz  100 % of it above the floor  -44.9 dBm in all",
        "GE06 Agreement raster, 2006, from memory, unverified",
    ):
        assert words in said.out
    assert CAUTION in said.err
    tables = tomllib.loads(said.out.partition("to paste into a request:")[2])["exclusion"]
    assert tables == [
        {"start_hz": 470_987_500, "stop_hz": 471_012_500, "words": "survey of Quay"},
        {"start_hz": 478_000_000, "stop_hz": 486_000_000, "words": "block 22"},
    ]


def test_as_json(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["scan", "import", str(file), "--json", "--taken-at", "2023-11-14T20:00:00+01:00"]) == 0
    body = json.loads(capsys.readouterr().out)
    assert set(body) == {"scan", "told", "lines", "age_s", "found"}
    assert body["scan"]["taken_at_utc_us"] == 1_699_988_400_000_000, "19:00 UTC, by `date`"
    assert body["scan"]["place"] == "quay", "the file's name where nobody says"
    assert [carrier["peak_hz"] for carrier in body["found"]["carriers"] if not carrier["wide"]] == [471_000_000]


@pytest.mark.parametrize(
    ("text", "options", "said"),
    [
        ("MHz;dBm\n470;-105\n470025000;-105\n", [], "line 3"),
        ("seven gulls\n", [], "line 1"),
        ("MHz;dBm\n470;-105\n", ["--region", "atlantis"], "region-1"),
        ("MHz;dBm\n470;-105\n", ["--taken-at", "yesterday"], "ISO 8601"),
        ("MHz;dBm\n470;-105\n", ["--taken-at", "2023-11-14T20:00:00"], "offset"),
        ("MHz;dBm\n470;-105\n", ["--taken-at", "2143-11-14T20:00:00Z"], "and now"),
        ("MHz;dBm\n470;-105\n", ["--bandwidth", "0"], "above 0"),
    ],
)
def test_what_is_wrong_is_said(
    text: str, options: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "quay.csv"
    file.write_text(text)
    assert main(["scan", "import", str(file), *options]) == 2
    found = capsys.readouterr()
    assert said in found.err
    assert not found.out


def test_a_file_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["scan", "import", str(tmp_path / "none.csv")]) == 2
    assert "none.csv: file" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("age_s", "words"), [(0.4, "0 seconds"), (90, "90 seconds"), (7_000, "117 minutes"), (180_000, "2 days")]
)
def test_ages_in_words(age_s: float, words: str) -> None:
    assert age_in_words(age_s) == words
