"""Runs seeds of the commands' promise and prints the hash of each journal. Run as a program, in a process of its own.

The hash is over the canonical JSON of every event, in sequence, with its number.
"""

from __future__ import annotations

import hashlib
import sys
import tempfile
from pathlib import Path

from fleet.model.event_json import encode_event
from tests.promises.stage import staged
from tests.promises.test_command_once import ask
from tests.virtual_time import run_virtual

COMMANDS = 60
REST_S = 6.0


def journal_hash(seed: int) -> str:
    """The hash of the journal of a run with that seed."""
    with tempfile.TemporaryDirectory() as folder:
        return run_virtual(_run(Path(folder), seed))


async def _run(folder: Path, seed: int) -> str:
    async with staged(folder, seed) as stage:
        for number in range(COMMANDS):
            await ask(stage, number)
        stage.link.heal()
        await stage.clock.sleep(REST_S)
        digest = hashlib.sha256()
        for entry in stage.journal():
            digest.update(f"{entry.sequence} ".encode() + encode_event(entry.event) + b"\n")
        return digest.hexdigest()


if __name__ == "__main__":
    for argument in sys.argv[1:]:
        sys.stdout.write(f"{argument} {journal_hash(int(argument))}\n")
