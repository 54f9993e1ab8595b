"""Running the command as a person would, in a process of its own."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from api.compose.cli import main

END_WITHIN_S = 120.0


@dataclass(frozen=True, slots=True)
class Ended:
    """How a run of the command ended."""

    exit_code: int
    said: str
    complained: str


def run_here(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> Ended:
    """Run ``redpoll`` to its end in this process: for what ends by itself at once."""
    try:
        exit_code = main([str(argument) for argument in arguments])
    except SystemExit as ending:
        exit_code = int(ending.code or 0)
    said, complained = capsys.readouterr()
    return Ended(exit_code, said, complained)


async def begin(*arguments: str | Path) -> asyncio.subprocess.Process:
    """Start ``redpoll`` with those arguments."""
    return await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "api.compose.cli",
        *(str(argument) for argument in arguments),
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        start_new_session=True,
    )


async def run(*arguments: str | Path) -> Ended:
    """Run ``redpoll`` to its end."""
    process = await begin(*arguments)
    async with asyncio.timeout(END_WITHIN_S):
        said, complained = await process.communicate()
    assert process.returncode is not None
    return Ended(process.returncode, said.decode(), complained.decode())


async def line_with(process: asyncio.subprocess.Process, words: str) -> str:
    """The first line that has those words in it."""
    assert process.stdout is not None
    async with asyncio.timeout(END_WITHIN_S):
        while line := (await process.stdout.readline()).decode():
            if words in line:
                return line.strip()
    raise AssertionError(f"it ended without saying {words!r}")


async def interrupt(process: asyncio.subprocess.Process) -> Ended:
    """Press Ctrl-C and wait for the end."""
    process.send_signal(signal.SIGINT)
    async with asyncio.timeout(END_WITHIN_S):
        said, complained = await process.communicate()
    assert process.returncode is not None
    return Ended(process.returncode, said.decode(), complained.decode())


def descendants(process_id: int) -> list[int]:
    """The processes that a process has started, and theirs."""
    children = Path(f"/proc/{process_id}/task/{process_id}/children")
    direct = [int(word) for word in children.read_text().split()] if children.exists() else []
    return [each for child in direct for each in (child, *descendants(child))]


def lives(process_id: int) -> bool:
    """Whether a process is there and isn't a zombie."""
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    return "\nState:\tZ" not in Path(f"/proc/{process_id}/status").read_text()
