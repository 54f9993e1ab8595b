"""Runs the contract of adapters on every adapter there is."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleet.adapters.open_json import OpenJsonAdapter
from tests.adapters.contract import ACT_CHECKS, CHECKS, READ_ONLY_CHECKS, Check, judged
from tests.adapters.contract_gateway import GATEWAY_CHECKS, GatewayCheck, behind_a_gateway
from tests.adapters.contract_leases import LEASE_CHECKS, leasing
from tests.adapters.rig import MakeAdapter, Rig, connected, in_contact
from tests.adapters.tape import replaying
from tests.virtual_time import run_virtual

ADAPTERS: dict[str, MakeAdapter] = {"open JSON": OpenJsonAdapter}


@pytest.mark.parametrize("make_adapter", ADAPTERS.values(), ids=ADAPTERS)
@pytest.mark.parametrize("check", [*CHECKS, *ACT_CHECKS], ids=lambda check: check.__name__)
def test_adapter(make_adapter: MakeAdapter, check: Check) -> None:
    async def main() -> None:
        async with connected(make_adapter) as rig:
            await judged(check, rig)

    run_virtual(main())


@pytest.mark.parametrize("make_adapter", ADAPTERS.values(), ids=ADAPTERS)
@pytest.mark.parametrize("check", LEASE_CHECKS, ids=lambda check: check.__name__)
def test_leases(make_adapter: MakeAdapter, check: Check) -> None:
    async def main() -> None:
        async with connected(make_adapter, leasing) as rig:
            await judged(check, rig)

    run_virtual(main())


@pytest.mark.parametrize("make_adapter", ADAPTERS.values(), ids=ADAPTERS)
@pytest.mark.parametrize("check", GATEWAY_CHECKS, ids=lambda check: check.__name__)
def test_gateway(make_adapter: MakeAdapter, check: GatewayCheck) -> None:
    async def main() -> None:
        async with behind_a_gateway(make_adapter) as rig:
            await check(rig)

    run_virtual(main())


def test_a_check_that_fails_says_when_what_was_heard() -> None:
    async def fails(rig: Rig) -> None:
        await rig.clock.sleep(0.25)
        raise AssertionError("it failed")

    async def main() -> None:
        async with connected(OpenJsonAdapter) as rig:
            with pytest.raises(AssertionError) as failed:
                await judged(fails, rig)
            assert "fails failed 250000 us after the introduction" in failed.value.__notes__[0]
            assert "           0 us  Contact(" in failed.value.__notes__[0]

    run_virtual(main())


@pytest.mark.parametrize("check", READ_ONLY_CHECKS, ids=lambda check: check.__name__)
def test_replay(check: Check, tmp_path: Path) -> None:
    async def main() -> None:
        rig = await replaying(tmp_path / "quay-1.jsonl")
        async with in_contact(rig):
            await check(rig)

    run_virtual(main())
