"""A gateway that presents too much, or somebody who only looks like one; a device that floods with leases."""

from __future__ import annotations

import asyncio

import pytest

from fleet.adapters.open_json import GATEWAY_DEVICES_MAXIMUM, OpenJsonAdapter
from fleet.errors import ContactFailed, MalformedMessage, SomeoneElse
from fleet.model.settings import Cause
from fleet.protocol import messages
from tests.adapters.contract_gateway import GATEWAY, ONE, GatewayRig, behind_a_gateway
from tests.adapters.contract_leases import leasing
from tests.adapters.fake_device import FakeDevice
from tests.adapters.rig import DEVICE_ID, Rig, connected
from tests.virtual_time import run_virtual


def test_a_gateway_of_too_many_devices_is_refused_whole() -> None:
    async def main() -> None:
        rig = GatewayRig(OpenJsonAdapter)
        for number in range(GATEWAY_DEVICES_MAXIMUM):
            name = f"more-{number}"
            rig.gateway.devices[name] = FakeDevice(name, rig.clock, f"boot-{number}", f"pack/of-{name}")
        with pytest.raises(ContactFailed, match=f"a gateway of {GATEWAY_DEVICES_MAXIMUM + 2} devices; at most"):
            await rig.adapter.connect()
        assert rig.heard.items == []
        await rig.adapter.close()
        await rig.network.close()

    run_virtual(main())


def test_one_device_of_another_name_is_somebody_else_unless_it_has_a_boot_of_its_own() -> None:
    async def main() -> None:
        rig = GatewayRig(OpenJsonAdapter)
        del rig.gateway.devices["shed-2"]
        await rig.adapter.connect()
        assert {contact.device_id for contact in rig.heard.contacts} == {GATEWAY, ONE}
        await rig.adapter.close()
        stranger = Rig(OpenJsonAdapter)
        stranger.device.device_id = "quay-9"
        with pytest.raises(SomeoneElse, match="the device there says it is quay-9"):
            await stranger.adapter.connect()
        for each in (rig, stranger):
            await each.adapter.close()
            await each.network.close()

    run_virtual(main())


def test_a_gateway_may_list_itself_as_one_of_its_devices() -> None:
    async def main() -> None:
        rig = GatewayRig(OpenJsonAdapter)
        rig.gateway.devices[GATEWAY] = FakeDevice(GATEWAY, rig.clock, "gate-1", "pack/of-gate")
        await rig.adapter.connect()
        own = rig.contacts(GATEWAY)
        assert [contact.description for contact in own] == [rig.gateway.devices[GATEWAY].description]
        assert own[0].reached_through == ""
        assert rig.contacts(ONE)[0].reached_through == GATEWAY
        await rig.adapter.close()
        await rig.network.close()

    run_virtual(main())


def test_a_device_behind_it_that_speaks_for_another_ends_the_contact() -> None:
    async def main() -> None:
        async with behind_a_gateway(OpenJsonAdapter) as rig:
            running = next(task for task in asyncio.all_tasks() if task.get_name() == "run")
            rig.gateway.session.notify(messages.Changed("quay-7", "b.2", Cause.PANEL, {"name": "mine now"}))
            await rig.gateway.flush()
            with pytest.raises(MalformedMessage, match="quay-7"):
                await running

    run_virtual(main())


def test_a_flood_of_leases_ends_the_contact_for_each_becomes_an_event() -> None:
    async def main() -> None:
        async with connected(OpenJsonAdapter, leasing) as rig:
            running = next(task for task in asyncio.all_tasks() if task.get_name() == "run")
            for number in range(1_300):
                await rig.device.say(messages.Leased(DEVICE_ID, f"desk {number}"))
                await rig.clock.sleep(0.004)
            with pytest.raises(MalformedMessage, match="more than 1200 changes in a minute"):
                await running

    run_virtual(main())
