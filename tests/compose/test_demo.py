"""The demonstration, run as a person runs it."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path

from fleet.clock import SystemClock
from tests.compose.running import END_WITHIN_S, begin, descendants, interrupt, line_with, lives, run


async def test_the_check_sees_everything_it_must() -> None:
    ended = await run("demo", "--check", "--seed", "7")
    assert ended.exit_code == 0, ended.complained
    lines = ended.said.splitlines()
    assert len(lines) == 1
    for words in (
        "24 channels report",
        "low-cut 120 Hz confirmed",
        "quay-3 silenced, alarm raised and cleared",
        "console killed while a command was",
        "the command unknown, then ",
    ):
        assert words in lines[0]
    assert re.search(r"; \d+\.\d s$", lines[0])


async def test_ctrl_c_ends_every_process_and_leaves_the_named_folder(tmp_path: Path) -> None:
    process = await begin("demo", "--state", tmp_path / "state")
    link = await line_with(process, "#launch=")
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/#launch=[\w-]+", link)
    started = descendants(process.pid)
    assert len(started) == 2
    ended = await interrupt(process)
    assert (ended.exit_code, ended.complained) == (0, "")
    assert not [each for each in started if lives(each)]
    assert (tmp_path / "state" / "journal.sqlite3").exists()


async def test_an_interrupted_check_has_not_passed_and_leaves_nothing_running() -> None:
    process = await begin("demo", "--check")
    async with asyncio.timeout(END_WITHIN_S):
        while len(started := descendants(process.pid)) < 2:
            await SystemClock().sleep(0.02)
    ended = await interrupt(process)
    assert (ended.exit_code, ended.said) == (1, "")
    assert not [each for each in started if lives(each)]


async def test_nothing_outlives_a_demonstration_that_was_killed(tmp_path: Path) -> None:
    process = await begin("demo", "--state", tmp_path)
    await line_with(process, "#launch=")
    started = descendants(process.pid)
    process.kill()
    await process.wait()
    async with asyncio.timeout(END_WITHIN_S):
        while [each for each in started if lives(each)]:
            await SystemClock().sleep(0.02)
