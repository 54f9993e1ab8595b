"""What an adapter must do for a gateway: say of each device behind it what it would say of one by itself."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

from fleet.clock import LoopClock
from fleet.model.command import Command, CommandState
from fleet.model.device import ContactState
from fleet.model.observation import Answer, Contact
from fleet.model.settings import Cause
from tests.adapters.fake_device import FakeDevice
from tests.adapters.fake_gateway import FakeGateway
from tests.adapters.rig import Heard, MakeAdapter, Network

GATEWAY = "gate-1"
ONE, TWO = "shed-1", "shed-2"


class GatewayRig:
    """One adapter, one gateway, two devices behind it."""

    def __init__(self, make_adapter: MakeAdapter) -> None:
        self.clock = LoopClock(0)
        self.heard = Heard()
        self.network = Network()
        one, two = (FakeDevice(name, self.clock, f"{name}-boot", f"pack/of-{name}") for name in (ONE, TWO))
        self.devices = {ONE: one, TWO: two}
        self.gateway = FakeGateway(GATEWAY, self.clock, one, two)
        self.address = self.network.add(self.gateway)
        self.adapter = make_adapter(self.address, self.network.connect, self.clock, self.heard)

    def contacts(self, device_id: str) -> list[Contact]:
        return [contact for contact in self.heard.contacts if contact.device_id == device_id]

    def write(self, device_id: str) -> Command:
        """A write of the pack of that device."""
        changes = {"low_cut_hz": 120}
        target, revision = f"pack/of-{device_id}", f"{device_id}-boot.1"
        return Command("c-1", target, device_id, changes, revision, "somebody", 0, CommandState.SENT, 0)


@asynccontextmanager
async def behind_a_gateway(make_adapter: MakeAdapter, *gone: str) -> AsyncIterator[GatewayRig]:
    """A rig in contact, its ``run`` going on; ends without leaving a task."""
    rig = GatewayRig(make_adapter)
    rig.gateway.gone.update(gone)
    await rig.adapter.connect()
    running = asyncio.create_task(rig.adapter.run(), name="run")
    try:
        yield rig
    finally:
        running.cancel()
        await asyncio.gather(running, return_exceptions=True)
        await rig.adapter.close()
        await rig.network.close()


async def each_device_is_introduced_as_if_it_had_an_address(rig: GatewayRig) -> None:
    for device_id, device in rig.devices.items():
        first = rig.contacts(device_id)[0]
        assert (first.state, first.boot_id) == (ContactState.FRESH, f"{device_id}-boot")
        assert first.description == device.description
        assert first.reached_through == GATEWAY
    reported = {(item.device_id, report.address) for item in rig.heard.observations for report in item.reports}
    assert reported >= {(ONE, ONE), (ONE, f"pack/of-{ONE}"), (TWO, TWO), (TWO, f"pack/of-{TWO}")}


async def the_gateway_is_told_of_too(rig: GatewayRig) -> None:
    first = rig.contacts(GATEWAY)[0]
    assert first.description is not None
    assert (first.description.kind, first.description.read_only) == ("gateway", True)
    assert (first.reached_through, first.boot_id) == ("", "gate-1")


async def each_is_as_fresh_as_its_own_heartbeats(rig: GatewayRig) -> None:
    rig.devices[ONE].frozen = True
    rig.gateway.mute.add(TWO)
    await rig.clock.sleep(10.0)
    assert [contact for device_id in (ONE, TWO) for contact in rig.contacts(device_id)[1:]] == []
    assert len(rig.contacts(GATEWAY)) >= 9, "the gateway answers"


async def readings_go_under_the_device_that_sent_them(rig: GatewayRig) -> None:
    await rig.clock.sleep(0.1)
    framed = {(item.device_id, item.frame.layout.cells[-1][0]) for item in rig.heard.observations if item.frame}
    assert framed == {(ONE, f"pack/of-{ONE}"), (TWO, f"pack/of-{TWO}")}


async def a_write_reaches_its_device_alone(rig: GatewayRig) -> None:
    await rig.adapter.write(rig.write(TWO))
    await rig.clock.sleep(0.05)
    answers = [(item.device_id, answer.answer) for item in rig.heard.observations for answer in item.answers]
    assert answers == [(TWO, Answer.ACCEPTED), (TWO, Answer.DONE)]
    last = rig.heard.reports[-1]
    assert (last.address, last.cause) == (f"pack/of-{TWO}", Cause.COMMAND)
    assert rig.devices[ONE].settings[f"pack/of-{ONE}"]["low_cut_hz"] == 80


async def a_read_back_is_of_the_device_that_holds_the_address(rig: GatewayRig) -> None:
    await rig.adapter.read_back(f"pack/of-{TWO}")
    await rig.clock.sleep(0.05)
    last = rig.heard.observations[-1]
    assert (last.device_id, last.read_back) == (TWO, (f"pack/of-{TWO}",))


async def a_device_that_restarts_is_introduced_anew_and_the_others_stay(rig: GatewayRig) -> None:
    rig.devices[ONE].boot_id = "another"
    await rig.clock.sleep(1.2)
    again = [contact for contact in rig.contacts(ONE) if contact.description is not None]
    assert [contact.boot_id for contact in again] == [f"{ONE}-boot", "another"]
    assert len([contact for contact in rig.contacts(TWO) if contact.description is not None]) == 1
    assert rig.gateway.connections == 1


GatewayCheck = Callable[[GatewayRig], Awaitable[None]]
GATEWAY_CHECKS: tuple[GatewayCheck, ...] = (
    each_device_is_introduced_as_if_it_had_an_address,
    the_gateway_is_told_of_too,
    each_is_as_fresh_as_its_own_heartbeats,
    readings_go_under_the_device_that_sent_them,
    a_write_reaches_its_device_alone,
    a_read_back_is_of_the_device_that_holds_the_address,
    a_device_that_restarts_is_introduced_anew_and_the_others_stay,
)
"""The profile of gateways."""
