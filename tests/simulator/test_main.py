from __future__ import annotations

import asyncio
import json
import signal
import socket
import sys
from pathlib import Path

import pytest

from simulator.__main__ import EXIT_FAILED, EXIT_WRONG_USE, main

ROOT = Path(__file__).parents[2]
WITHIN_S = 60.0


async def test_it_announces_every_receiver_and_ends_cleanly_when_interrupted() -> None:
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "simulator", "fixture", "--seed", "3", cwd=ROOT, stdout=asyncio.subprocess.PIPE
    )
    assert process.stdout is not None
    async with asyncio.timeout(WITHIN_S):
        lines = [json.loads(await process.stdout.readline()) for _ in range(2)]
        process.send_signal(signal.SIGINT)
        assert await process.wait() == 0
    assert lines[0]["device_id"] == "fixture-1"
    assert lines[0]["url"].startswith("ws://127.0.0.1:")
    assert lines[1]["exercise_url"].startswith("ws://127.0.0.1:")
    assert len(lines[1]["token"]) >= 32


def test_an_unknown_scenario_is_wrong_use(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["no-such-scenario"]) == EXIT_WRONG_USE
    assert "tern-rock" in capsys.readouterr().err


def test_a_wrong_scenario_names_file_key_and_what_was_expected(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('name = "Wrong"\ncolour = "red"\n')
    assert main([str(wrong)]) == EXIT_WRONG_USE
    words = capsys.readouterr().err
    assert "wrong.toml" in words
    assert "colour" in words
    assert "expected" in words


def _take_a_port() -> socket.socket:
    """A listening socket on a port that the simulator could use."""
    for port in range(20_000, 32_768):
        try:
            return socket.create_server(("127.0.0.1", port))
        except OSError:
            continue
    raise AssertionError("there is no free port")


def test_a_named_port_that_is_taken_fails_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    with _take_a_port() as taken:
        port = taken.getsockname()[1]
        assert main(["fixture", "--port-start", str(port)]) == EXIT_FAILED
    assert str(port) in capsys.readouterr().err


@pytest.mark.parametrize("arguments", [[], ["fixture", "--seed", "-1"], ["fixture", "--seed", "x"]])
def test_a_wrong_command_line_is_wrong_use(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == EXIT_WRONG_USE
    assert capsys.readouterr().err
