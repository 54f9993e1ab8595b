"""An evening offline: the same to the last byte anywhere, stopped with what there is, refused before it begins."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from importlib import resources
from pathlib import Path

import pytest

from api.compose.cli import main
from api.compose.offline import OfflineOrder, OfflineReport, Progress, count_events, production_of, run_offline
from api.compose.offline_command import ProgressLine
from api.compose.weather import ROUGH, Outage, Weather, weather_of
from fleet.errors import InvalidDocument, InvalidRequest
from fleet.journal.reader import Reader
from fleet.model.event import AlarmChanged
from simulator.scenario import load_text
from tests.promises.promise import TIER, Tier

ROOT = Path(__file__).parents[2]
STAGE = "stage-table"
# Five devices in two racks, a production, and a situation that alarms.
EVENING = "13-wrong-key"
MINUTES = 0.35
# Half open early, so that a short run sees it.
FOUL = Weather(20.0, 150.0, 0.01, 0.01, (Outage(6.0, 14.0),), (Outage(17.0, 19.0, ("house-1",)),))
SEEDS = {Tier.TEST: 3, Tier.SOAK: 100, Tier.LONG: 300}[TIER]
HASH_SEEDS = {Tier.TEST: ("0",), Tier.SOAK: ("0", "1", "4711"), Tier.LONG: ("0", "1", "4711")}[TIER]


def _nothing(progress: Progress) -> None:
    del progress


def _run(seed: int = 1, weather: Weather = FOUL, journal: Path | None = None, scenario: str = STAGE) -> OfflineReport:
    print(f"seed {seed}")
    return run_offline(OfflineOrder(scenario, seed, MINUTES, journal, weather), _nothing)


def _elsewhere(seeds: range, hash_seed: str, folder: Path) -> list[str]:
    """The same runs in a process of their own."""
    record = folder / "foul.toml"
    record.write_text(
        "delay_ms = 20.0\njitter_ms = 150.0\nloss = 0.01\nduplicate = 0.01\n"
        'half_open = [{ from_s = 6, to_s = 14 }]\npartition = [{ from_s = 17, to_s = 19, devices = ["house-1"] }]\n'
    )
    order = f"['offline', '{EVENING}', '--seed', seed, '--minutes', '{MINUTES}', '--weather', sys.argv[1], '--json']"
    words = f"import sys; from api.compose.cli import main\nfor seed in sys.argv[2:]: main({order})"
    found = subprocess.run(
        [sys.executable, "-c", words, str(record), *map(str, seeds)],
        cwd=ROOT,
        env=os.environ | {"PYTHONHASHSEED": hash_seed},
        capture_output=True,
        text=True,
        check=True,
        timeout=60 + 20 * len(seeds),
    )
    return [json.loads(line)["sha256"] for line in found.stdout.splitlines()]


def test_the_same_order_gives_the_same_journal_in_any_process_and_another_seed_another(tmp_path: Path) -> None:
    seeds = range(1, SEEDS + 1)
    here = [_run(seed, scenario=EVENING).sha256 for seed in seeds]
    assert len(set(here)) == len(here)
    for hash_seed in HASH_SEEDS:
        assert _elsewhere(seeds, hash_seed, tmp_path) == here


def test_the_weather_is_felt_and_the_console_comes_through_it() -> None:
    clear, foul = _run(weather=Weather()), _run()
    assert clear.sha256 != foul.sha256
    assert foul.events["contact changed"] > clear.events["contact changed"]
    assert foul.events["console started"] == 1
    assert clear.simulated_minutes == foul.simulated_minutes == MINUTES


def test_a_situation_brings_its_stage_and_production_and_raises_its_alarm(tmp_path: Path) -> None:
    journal = tmp_path / "evening.sqlite3"
    order = OfflineOrder("13-wrong-key", 2, 0.5, journal)
    assert run_offline(order, _nothing).events["document applied"] == 1
    reader = Reader(f"sqlite:///{journal}")
    events = [each.event for each in reader.events(limit=1_000, kind="alarm changed")]
    alarms = [event.alarm.rule_id for event in events if isinstance(event, AlarmChanged)]
    reader.close()
    assert alarms == ["wrong-key"]


def test_a_journal_is_kept_where_it_was_asked_for_and_counts_the_same(tmp_path: Path) -> None:
    journal = tmp_path / "evening.sqlite3"
    report = _run(journal=journal)
    assert count_events(journal) == (report.events, report.sha256)
    with pytest.raises(InvalidRequest, match="never overwritten"):
        _run(journal=journal)


def test_ctrl_c_ends_it_early_with_what_there_is(tmp_path: Path) -> None:
    journal = tmp_path / "evening.sqlite3"

    def interrupt(progress: Progress) -> None:
        if progress.simulated_s == 5.0:
            os.kill(os.getpid(), signal.SIGINT)

    report = run_offline(OfflineOrder(STAGE, 1, MINUTES, journal), interrupt)
    assert report.stopped
    assert report.simulated_minutes == pytest.approx(5.0 / 60.0)
    assert count_events(journal) == (report.events, report.sha256)
    assert report.events["device described"] == 1


@pytest.mark.parametrize(
    ("order", "words"),
    [
        (OfflineOrder(STAGE, minutes=0.0), "minutes"),
        (OfflineOrder(STAGE, minutes=9_999.0), "minutes"),
        (OfflineOrder(STAGE, journal=Path("/no/such/folder/evening.sqlite3")), "no folder"),
    ],
)
def test_an_order_that_cannot_be_is_refused(order: OfflineOrder, words: str) -> None:
    with pytest.raises(InvalidRequest, match=words):
        run_offline(order, _nothing)


def test_what_a_script_could_not_do_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stage = tmp_path / "table.toml"
    text = load_text(STAGE)[1]
    stage.write_text(text + '\n[[script]]\nafter_s = 1\nwrite = "house-1/carrier/1"\nparams = { frequency_hz = 12 }\n')
    assert main(["offline", str(stage), "--minutes", "0.1", "--json"]) == 1
    out = capsys.readouterr()
    assert "frequency_hz" in json.loads(out.out)["problems"][0]
    assert "could not be done" in out.err


def test_weather_over_a_device_that_is_not_there_is_refused() -> None:
    with pytest.raises(InvalidRequest, match="house-9"):
        _run(weather=Weather(half_open=(Outage(1.0, 2.0, ("house-9",)),)))


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("delay_ms = -1", "delay_ms"),
        ("wind = 3", "document"),
        ("half_open = [{ from_s = 5, to_s = 5 }]", "half_open[0].to_s"),
        ("loss = 0.9", "loss"),
        ("not toml", "document"),
    ],
)
def test_weather_that_cannot_be_is_refused_with_its_key(text: str, key: str, tmp_path: Path) -> None:
    file = tmp_path / "weather.toml"
    file.write_text(text)
    with pytest.raises(InvalidDocument) as caught:
        weather_of(str(file))
    assert f"weather.toml: {key}" in str(caught.value)


def test_progress_is_told_once_a_real_second_with_the_time_to_go(capsys: pytest.CaptureFixture[str]) -> None:
    tell = ProgressLine()
    for real_s in (0.5, 1.0, 1.5, 2.5):
        tell(Progress(60.0 * real_s, 300.0, real_s))
    lines = capsys.readouterr().err.splitlines()
    assert [line.split(" of ")[0] for line in lines] == ["redpoll: 1.0", "redpoll: 2.5"]
    assert "60.0 times real time, 4 s to go" in lines[0]


def test_a_production_beside_the_file_of_a_scenario_goes_with_it(tmp_path: Path) -> None:
    scenario = tmp_path / "hall.toml"
    assert production_of(str(scenario)) is None
    shipped = resources.files("api.compose").joinpath("tern-rock-production.toml").read_text(encoding="utf-8")
    (tmp_path / "hall-production.toml").write_text(shipped, encoding="utf-8")
    assert production_of(str(scenario)) == production_of("tern-rock")
    (tmp_path / "hall-production.toml").write_text("wind = 3", encoding="utf-8")
    with pytest.raises(InvalidDocument, match="hall-production"):
        production_of(str(scenario))


def test_weather_has_names() -> None:
    assert weather_of("rough") == ROUGH
    with pytest.raises(InvalidDocument, match="clear, rough"):
        weather_of("no-such-file.toml")


def test_the_command_prints_its_report(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["offline", STAGE, "--minutes", "0.1", "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    assert report["simulated_minutes"] == pytest.approx(0.1)
    assert report["events"]["console started"] == 1
    assert main(["offline", STAGE, "--minutes", "0.1"]) == 0
    words = capsys.readouterr().out
    assert words.startswith(f"SIMULATED: {STAGE}, seed 1\n")
    assert report["sha256"] in words
    assert main(["offline", STAGE, "--minutes", "0.1", "--journal", "/proc/evening.sqlite3"]) == 1
    assert "/proc/evening.sqlite3" in capsys.readouterr().err
    assert main(["offline", "no-such-place"]) == 2
    assert main(["offline", STAGE, "--minutes", "-1"]) == 2
