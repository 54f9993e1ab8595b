"""Runs the contract of adapters on every adapter there is."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleet.adapters.open_json import OpenJsonAdapter
from tests.adapters.contract import CHECKS, READ_ONLY_CHECKS, Check
from tests.adapters.rig import MakeAdapter, connected, in_contact
from tests.adapters.tape import replaying
from tests.virtual_time import run_virtual

ADAPTERS: dict[str, MakeAdapter] = {"open JSON": OpenJsonAdapter}


@pytest.mark.parametrize("make_adapter", ADAPTERS.values(), ids=ADAPTERS)
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_adapter(make_adapter: MakeAdapter, check: Check) -> None:
    async def main() -> None:
        async with connected(make_adapter) as rig:
            await check(rig)

    run_virtual(main())


@pytest.mark.parametrize("check", READ_ONLY_CHECKS, ids=lambda check: check.__name__)
def test_replay(check: Check, tmp_path: Path) -> None:
    async def main() -> None:
        rig = await replaying(tmp_path / "quay-1.jsonl")
        async with in_contact(rig):
            await check(rig)

    run_virtual(main())
