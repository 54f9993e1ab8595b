"""The command's words and exit codes: 0 well, 1 failed while running, 2 wrong use."""

from __future__ import annotations

import json
import socket
from pathlib import Path

import pytest

from tests.compose.running import begin, interrupt, line_with, run, run_here

Capture = pytest.CaptureFixture[str]


@pytest.mark.parametrize("arguments", [["--help"], ["demo", "--help"], ["console", "--help"], ["simulate", "--help"]])
def test_help_says_what_there_is(capsys: Capture, arguments: list[str]) -> None:
    ended = run_here(capsys, *arguments)
    assert ended.exit_code == 0
    assert "usage: redpoll" in ended.said
    assert ended.complained == ""


def test_help_prints_the_caution(capsys: Capture) -> None:
    assert "Never rely on it for emergency announcements" in run_here(capsys, "--help").said


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "required"),
        (["sing"], "invalid choice"),
        (["demo", "--port", "0"], "a port is a whole number from 1 to 65535"),
        (["demo", "--port", "many"], "not 'many'"),
        (["console"], "--config"),
        (["simulate", "tern-rock", "--port-start", "40000"], "from 1 to 32767"),
        (["demo", "--seed", "-1"], "a seed is a whole number from 0"),
        (["simulate", "no-such-scenario"], "no-such-scenario"),
        (["record", "console.toml", "quay-1"], "FILE"),
        (["record", "console.toml", "quay-1", "a.jsonl", "--seconds", "nan"], "seconds are a number above 0"),
    ],
)
def test_wrong_use_is_said_in_words(capsys: Capture, arguments: list[str], words: str) -> None:
    ended = run_here(capsys, *arguments)
    assert ended.exit_code == 2
    assert words in ended.complained
    assert "Traceback" not in ended.complained


def test_a_wrong_configuration_names_file_key_and_what_was_expected(capsys: Capture, tmp_path: Path) -> None:
    file = tmp_path / "console.toml"
    file.write_text('database = "journal.sqlite3"\ncolour = "red"\n')
    ended = run_here(capsys, "console", "--config", file)
    assert ended.exit_code == 2
    assert str(file) in ended.complained
    assert "colour: expected one of" in ended.complained


def test_a_wrong_production_names_file_key_and_what_was_expected(capsys: Capture, tmp_path: Path) -> None:
    file = tmp_path / "console.toml"
    file.write_text('database = "journal.sqlite3"\nproduction = "lamp.toml"\n')
    (tmp_path / "lamp.toml").write_text('name = "The Lamp at Tern Rock"\nlamp = 1\n')
    ended = run_here(capsys, "console", "--config", file)
    assert ended.exit_code == 2
    assert "lamp.toml: lamp: expected one of" in ended.complained
    assert not (tmp_path / "journal.sqlite3").exists()


def test_a_wrong_scenario_names_file_key_and_what_was_expected(capsys: Capture, tmp_path: Path) -> None:
    file = tmp_path / "storm.toml"
    file.write_text("weather = 3\n")
    ended = run_here(capsys, "simulate", file)
    assert ended.exit_code == 2
    assert "storm.toml" in ended.complained
    assert "weather" in ended.complained
    assert ended.said == ""


def low_port() -> socket.socket:
    """A listening socket on a port that a simulated device might have, too."""
    for port in range(20_000, 32_000):
        try:
            return socket.create_server(("127.0.0.1", port))
        except OSError:
            continue
    raise AssertionError("no port is free")


@pytest.mark.parametrize("option", ["console --port", "simulate --exercise-port", "simulate --port-start"])
def test_a_named_port_that_is_taken_is_said_in_words(capsys: Capture, tmp_path: Path, option: str) -> None:
    file = tmp_path / "console.toml"
    file.write_text('database = "journal.sqlite3"\n')
    command, name = option.split()
    subject = ["--config", str(file)] if command == "console" else ["tern-rock"]
    with low_port() as taken:
        port = taken.getsockname()[1]
        ended = run_here(capsys, command, *subject, name, str(port))
    assert ended.exit_code == 1
    assert f"port {port} is in use" in ended.complained
    assert "Traceback" not in ended.complained
    assert ended.said == ""


def test_a_database_that_cannot_be_written_is_said_in_words(capsys: Capture, tmp_path: Path) -> None:
    file = tmp_path / "console.toml"
    (tmp_path / "journal.sqlite3").mkdir()
    file.write_text('database = "journal.sqlite3"\n')
    ended = run_here(capsys, "console", "--config", file)
    assert ended.exit_code == 1
    assert "the journal is not available" in ended.complained
    assert "Traceback" not in ended.complained


async def test_ctrl_c_ends_a_console_cleanly(tmp_path: Path) -> None:
    file = tmp_path / "console.toml"
    file.write_text('database = "journal.sqlite3"\n')
    process = await begin("console", "--config", file)
    link = await line_with(process, "#launch=")
    assert link.startswith("http://127.0.0.1:")
    ended = await interrupt(process)
    assert (ended.exit_code, ended.complained) == (0, "")


async def test_ctrl_c_ends_a_simulator_cleanly() -> None:
    process = await begin("simulate", "tern-rock")
    await line_with(process, "exercise_url")
    ended = await interrupt(process)
    assert (ended.exit_code, ended.complained) == (0, "")


async def test_a_fault_is_thrown_from_the_command_line() -> None:
    process = await begin("simulate", "tern-rock")
    listening = json.loads(await line_with(process, "exercise_url"))
    place = (listening["exercise_url"], listening["token"])
    thrown = await run("exercise", *place, "silence", "device_id=quay-3", "seconds=6.5")
    assert (thrown.exit_code, json.loads(thrown.said)) == (0, {})
    told = await run("exercise", *place, "truth", "address=quay-3")
    assert json.loads(told.said)["silent"] is True
    url, token = place
    for wrong_place, parameter, words in (
        ((url, token), "quay-3", "NAME=VALUE"),
        ((url, token), "device_id=nowhere", "nowhere"),
        ((url, "guessed"), "device_id=quay-3", "token"),
        (("ws://127.0.0.1:1024", token), "device_id=quay-3", "no exercise protocol there"),
        (("quay", token), "device_id=quay-3", "no exercise protocol there"),
    ):
        refused = await run("exercise", *wrong_place, "silence", parameter)
        assert refused.exit_code != 0
        assert words in refused.complained
        assert "Traceback" not in refused.complained
    assert (await interrupt(process)).exit_code == 0


async def test_a_session_is_recorded_summed_up_and_never_written_over(tmp_path: Path) -> None:
    process = await begin("simulate", "tern-rock")
    device = json.loads(await line_with(process, "device_id"))
    device_id, url = device["device_id"], device["url"]
    await line_with(process, "exercise_url")
    configuration, file = tmp_path / "console.toml", tmp_path / "tape.jsonl"
    configuration.write_text(f'database = "a.sqlite3"\n[[device]]\nid = "{device_id}"\nurl = "{url}"\n')
    recorded = await run("record", configuration, device_id, file, "--redact", "--seconds", "2.5")
    assert (recorded.exit_code, recorded.complained) == (0, "")
    assert "ended: the time that was asked for is over" in recorded.said
    told = await run("replay", file)
    assert (told.exit_code, told.said) == (0, recorded.said)
    assert "received readings" in told.said
    size = file.stat().st_size
    again = await run("record", configuration, device_id, file, "--seconds", "1")
    assert (again.exit_code, file.stat().st_size) == (2, size)
    assert "a name that no file has yet" in again.complained
    assert (await interrupt(process)).exit_code == 0


def test_a_recording_of_nobody_says_why_and_keeps_what_there_is(capsys: Capture, tmp_path: Path) -> None:
    configuration, file = tmp_path / "console.toml", tmp_path / "tape.jsonl"
    configuration.write_text('database = "a.sqlite3"\n[[device]]\nid = "quay-1"\nurl = "ws://127.0.0.1:1024"\n')
    unknown = run_here(capsys, "record", configuration, "quay-9", file)
    assert unknown.exit_code == 2
    assert "one with that id (it lists quay-1)" in unknown.complained
    ended = run_here(capsys, "record", configuration, "quay-1", file)
    assert ended.exit_code == 1
    assert "quay-1: could not connect" in ended.complained
    told = run_here(capsys, "replay", file)
    assert "could not connect" in told.said
    file.write_bytes(file.read_bytes()[:-5])
    broken = run_here(capsys, "replay", file)
    assert broken.exit_code == 1
    assert "tape.jsonl: line 2: the line breaks off" in broken.complained
    assert "Traceback" not in broken.complained
