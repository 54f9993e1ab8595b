"""A gateway under watch: each device by its own heartbeats, all lost with the gateway, none taken from another."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from itertools import count
from typing import cast

import numpy as np
import pytest

from fleet.adapters.adapter import Adapter, Sink
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.supervisor import Supervisor
from fleet.clock import LoopClock
from fleet.config import DeviceAddress
from fleet.errors import ContactFailed
from fleet.model.command import Command, CommandState
from fleet.model.device import ContactState
from fleet.model.moment import Moment
from fleet.model.observation import Answer, Contact
from tests.adapters.fake_device import FakeDevice
from tests.adapters.fake_gateway import FakeGateway
from tests.adapters.rig import Heard, Network
from tests.virtual_time import run_virtual

GATEWAY, ONE, TWO, ALONE = "gate-1", "shed-1", "shed-2", "quay-1"
FRESH, LATE, LOST, CONNECTING = ContactState.FRESH, ContactState.LATE, ContactState.LOST, ContactState.CONNECTING


class WatchedGateway:
    """A supervisor over a gateway of two devices, and a device by itself."""

    def __init__(self) -> None:
        self.clock = LoopClock(0)
        self.network = Network()
        self.heard = Heard()
        one, two = (FakeDevice(name, self.clock, f"{name}-boot", f"pack/of-{name}") for name in (ONE, TWO))
        self.devices = {ONE: one, TWO: two}
        self.gateway = FakeGateway(GATEWAY, self.clock, one, two)
        self.addresses = [self.network.add(self.gateway), self.network.add(FakeDevice(ALONE, self.clock))]
        self.supervisor = Supervisor(
            self.clock,
            np.random.default_rng(7),
            self.heard,
            lambda address, sink: OpenJsonAdapter(address, self.network.connect, self.clock, sink),
        )

    def last(self, device_id: str) -> Contact:
        return [contact for contact in self.heard.contacts if contact.device_id == device_id][-1]

    def states(self, device_id: str) -> list[ContactState]:
        states = [contact.state for contact in self.heard.contacts if contact.device_id == device_id]
        return [state for i, state in enumerate(states) if i == 0 or state is not states[i - 1]]

    def notices(self) -> list[str]:
        return [notice.words for item in self.heard.observations for notice in item.notices]


def watched(check: Callable[[WatchedGateway], Awaitable[None]]) -> Callable[[], None]:
    """Run a check on virtual time."""

    async def main() -> None:
        it = WatchedGateway()
        await it.supervisor.start(it.addresses)
        try:
            await check(it)
        finally:
            await it.supervisor.stop()
            await it.network.close()

    def run() -> None:
        run_virtual(main())

    run.__name__ = check.__name__
    return run


@watched
async def test_each_device_behind_a_gateway_is_fresh_and_says_what_it_is_reached_through(it: WatchedGateway) -> None:
    await it.clock.sleep(10.0)
    for device_id in (GATEWAY, ONE, TWO, ALONE):
        assert it.states(device_id) == [CONNECTING, FRESH], device_id
    said = {(contact.device_id, contact.reached_through) for contact in it.heard.contacts}
    assert said == {(GATEWAY, ""), (ONE, GATEWAY), (TWO, GATEWAY), (ALONE, "")}


@watched
async def test_a_device_whose_counter_stands_still_is_lost_although_the_gateway_answers(it: WatchedGateway) -> None:
    await it.clock.sleep(3.0)
    it.devices[ONE].frozen = True
    await it.clock.sleep(7.0)
    assert (it.last(ONE).state, it.last(TWO).state, it.last(GATEWAY).state) == (LOST, FRESH, FRESH)
    assert it.last(ONE).reason == "no fresh heartbeat for 5 s"
    frames = len([item for item in it.heard.observations if item.device_id == ONE and item.frame is not None])
    await it.devices[ONE].say(it.devices[ONE].frame(it.devices[ONE].subscription))
    await it.clock.sleep(0.1)
    still = [item for item in it.heard.observations if item.device_id == ONE and item.frame is not None]
    assert len(still) == frames, "what it measured is not believed until it has proved itself"
    it.devices[ONE].frozen = False
    await it.clock.sleep(2.0)
    assert it.last(ONE).state is FRESH
    assert it.gateway.connections == 1


@watched
async def test_with_the_gateway_every_device_behind_it_is_lost_for_its_reason(it: WatchedGateway) -> None:
    await it.clock.sleep(3.0)
    it.network.unreachable.add(it.addresses[0].url)
    assert it.gateway.transport is not None
    await it.gateway.transport.close()
    await it.clock.sleep(7.0)
    for device_id in (ONE, TWO):
        assert it.last(device_id).state is LOST
        assert it.last(device_id).reason.startswith("gateway gate-1: could not connect: connection refused")
    assert it.last(ALONE).state is FRESH
    it.network.unreachable.clear()
    it.supervisor.retry_now(ONE)
    await it.clock.sleep(3.0)
    for device_id in (GATEWAY, ONE, TWO):
        assert it.last(device_id).state is FRESH, device_id


@watched
async def test_after_a_reconnect_a_frozen_device_must_prove_itself(it: WatchedGateway) -> None:
    await it.clock.sleep(3.0)
    it.devices[ONE].frozen = True
    await it.clock.sleep(7.0)
    assert it.gateway.transport is not None
    await it.gateway.transport.close()
    before = len(it.heard.contacts)
    await it.clock.sleep(8.0)
    assert it.gateway.connections == 2
    after = {contact.state for contact in it.heard.contacts[before:] if contact.device_id == ONE}
    assert FRESH not in after
    assert it.last(TWO).state is FRESH


@watched
async def test_a_device_that_the_gateway_cannot_reach_is_lost_alone_and_greeted_when_it_stirs(
    it: WatchedGateway,
) -> None:
    it.gateway.gone.add(ONE)
    await it.clock.sleep(8.0)
    assert (it.last(ONE).state, it.last(TWO).state, it.last(GATEWAY).state) == (LOST, FRESH, FRESH)
    assert "shed-1 is out of reach" in it.last(ONE).reason
    it.gateway.gone.clear()
    await it.clock.sleep(5.0)
    assert it.last(ONE).state is FRESH
    assert it.gateway.connections == 1


@watched
async def test_a_device_that_is_reached_by_itself_is_not_taken_over_by_a_gateway(it: WatchedGateway) -> None:
    rogue = FakeGateway("gate-2", it.clock, FakeDevice(ALONE, it.clock, "x"), FakeDevice(ONE, it.clock, "y"))
    await it.clock.sleep(3.0)
    await it.supervisor.keep_only([*it.addresses, it.network.add(rogue)])
    await it.clock.sleep(3.0)
    boots = {contact.boot_id for contact in it.heard.contacts if contact.device_id in (ALONE, ONE) and contact.boot_id}
    assert boots == {"boot-1", "shed-1-boot"}
    assert [words for words in it.notices() if "already" in words] == [
        "quay-1 is reached at ws://127.0.0.1:1/quay-1 already; what is said of it here is left out",
        "shed-1 is reached through gate-1 already; what is said of it here is left out",
    ]


@watched
async def test_a_write_goes_through_the_gateway_and_fails_without_it(it: WatchedGateway) -> None:
    await it.clock.sleep(3.0)
    changes = {"low_cut_hz": 120}
    command = Command("c-1", "pack/of-shed-2", TWO, changes, "shed-2-boot.1", "x", 0, CommandState.SENT, 0)
    await it.supervisor.write(command)
    await it.clock.sleep(0.1)
    answers = [(item.device_id, each.answer) for item in it.heard.observations for each in item.answers]
    assert answers == [(TWO, Answer.ACCEPTED), (TWO, Answer.DONE)]
    it.network.unreachable.add(it.addresses[0].url)
    assert it.gateway.transport is not None
    await it.gateway.transport.close()
    await it.clock.sleep(0.1)
    with pytest.raises(ContactFailed, match="not in contact"):
        await it.supervisor.write(command)


@watched
async def test_a_gateway_that_is_let_go_lets_go_of_its_devices(it: WatchedGateway) -> None:
    await it.clock.sleep(3.0)
    await it.supervisor.keep_only(it.addresses[1:])
    heard = len(it.heard.contacts)
    await it.clock.sleep(20.0)
    assert {contact.device_id for contact in it.heard.contacts[heard:]} == {ALONE}
    await it.supervisor.keep_only([*it.addresses[1:], it.network.add(it.devices[ONE])])
    await it.clock.sleep(3.0)
    assert (it.last(ONE).state, it.last(ONE).reached_through) == (FRESH, "")


class RestlessGateway:
    """An adapter of a gateway that presents other devices at each contact, and leaves."""

    def __init__(self, contact: int, sink: Sink) -> None:
        self._contact = contact
        self._sink = sink

    async def connect(self) -> None:
        for number in range(40):
            self._sink(Contact(Moment(0, 0), f"shed-{self._contact}-{number}", FRESH, boot_id="boot"))

    async def run(self) -> None:
        raise ContactFailed(GATEWAY, "gone")

    async def close(self) -> None:
        return


def test_a_gateway_that_always_presents_others_is_believed_sixty_four_of_them() -> None:
    async def main() -> None:
        clock, heard, contacts = LoopClock(0), Heard(), count()

        def make(_: DeviceAddress, sink: Sink) -> Adapter:
            return cast(Adapter, RestlessGateway(next(contacts), sink))

        supervisor = Supervisor(clock, np.random.default_rng(7), heard, make)
        await supervisor.start([DeviceAddress(GATEWAY, "ws://127.0.0.1:1")])
        await clock.sleep(30.0)
        await supervisor.stop()
        assert next(contacts) > 3
        assert len({contact.device_id for contact in heard.contacts} - {GATEWAY}) == 64
        codes = {notice.code for item in heard.observations for notice in item.notices}
        assert codes == {"devices-left-out"}

    run_virtual(main())


@watched
async def test_a_device_that_the_gateway_lists_no_longer_is_lost_and_watched_no_more(it: WatchedGateway) -> None:
    await it.clock.sleep(3.0)
    del it.gateway.devices[ONE]
    for _ in range(2):
        assert it.gateway.transport is not None
        await it.gateway.transport.close()
        await it.clock.sleep(3.0)
    assert (it.last(ONE).state, it.last(ONE).reason) == (LOST, "gateway gate-1 presents it no longer")
    heard = len(it.heard.contacts)
    await it.clock.sleep(10.0)
    assert ONE not in {contact.device_id for contact in it.heard.contacts[heard:]}


@watched
async def test_a_presented_device_that_is_listed_by_itself_is_taken_from_its_gateway(it: WatchedGateway) -> None:
    await it.clock.sleep(3.0)
    await it.supervisor.keep_only([*it.addresses, DeviceAddress(ONE, "ws://127.0.0.1:9/nowhere")])
    heard = len(it.heard.contacts)
    await it.clock.sleep(0.1)
    with pytest.raises(ContactFailed, match="not in contact"):
        await it.supervisor.read_back(ONE, ONE)
    await it.clock.sleep(5.0)
    through = {contact.reached_through for contact in it.heard.contacts[heard:] if contact.device_id == ONE}
    assert through == {""}
    words = "shed-1 is reached at ws://127.0.0.1:9/nowhere already; what is said of it here is left out"
    assert words in it.notices()
