"""The small devices of the documentation conform, and are as small as they are said to be."""

from __future__ import annotations

import ast
import asyncio
import re

import pytest

from tests.examples import adapter_checks, wire_checks
from tests.examples.subject import COMMANDS, EXAMPLES, described, running

LINES_MAXIMUM = {"minimal_device.py": 149, "minimal_device.mjs": 400}


@pytest.mark.parametrize("name", COMMANDS)
def test_a_small_device_conforms(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    async def main() -> list[str]:
        passed = []
        async with running(name) as subject:
            for check in wire_checks.CHECKS:
                await check(subject)
                passed.append(check.__name__)
            for each in adapter_checks.CHECKS:
                async with adapter_checks.benched(subject) as bench:
                    await each(bench)
                passed.append(each.__name__)
        return passed

    passed = asyncio.run(main())
    wanted = [len(wire_checks.CHECKS), len(adapter_checks.CHECKS)]
    assert len(passed) == sum(wanted)
    with capsys.disabled():
        print(f"\n{name}: {lines(name)} lines, passes {wanted[0]} checks on the wire and {wanted[1]} of the contract")


def test_the_one_in_node_waits_for_a_hand_and_gives_up() -> None:
    async def main() -> None:
        async with running("minimal_device.mjs") as subject, described(subject) as (console, device_id):
            pack = await wire_checks.pack_of(console, device_id)
            for command_id in ("hand-1", "hand-2"):
                answer = await wire_checks.write(console, pack, command_id, cell_type="AA lithium")
                assert answer["result"]["state"] == "waiting for a hand"
            cancelled = await console.ask("cancel", target=pack["address"], command_id="hand-1")
            assert cancelled["result"]["cancelled"] is True
            assert await console.next_told("outcome") == {"command_id": "hand-1", "outcome": "cancelled"}
            assert await wire_checks.pack_of(console, device_id) == pack, "nothing is done before the hand"
            subject.say("hand")
            assert (await console.next_told("changed"))["settings"] == {"cell_type": "AA lithium"}
            assert await console.next_told("outcome") == {"command_id": "hand-2", "outcome": "done"}

    asyncio.run(main())


def lines(name: str) -> int:
    return len((EXAMPLES / name).read_text(encoding="utf-8").splitlines())


@pytest.mark.parametrize("name", COMMANDS)
def test_a_small_device_is_small(name: str) -> None:
    assert lines(name) <= LINES_MAXIMUM[name]


def test_the_one_in_python_needs_only_websockets() -> None:
    tree = ast.parse((EXAMPLES / "minimal_device.py").read_text(encoding="utf-8"))
    names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    names |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    own = {"asyncio", "collections", "itertools", "json", "secrets", "sys", "threading", "weakref"}
    assert names == own | {"websockets.asyncio.server"}


def test_the_one_in_node_needs_nothing() -> None:
    text = (EXAMPLES / "minimal_device.mjs").read_text(encoding="utf-8")
    sources = re.findall(r'from "([^"]+)"', text)
    assert sources
    assert all(source.startswith("node:") for source in sources)
