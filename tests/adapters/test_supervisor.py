"""The watch over many devices, on virtual time, with devices that misbehave each in its own way."""

from __future__ import annotations

import contextlib
import json
from dataclasses import replace

import numpy as np
import pytest

from fleet.errors import ContactFailed, NotFound
from fleet.model.device import ContactState
from fleet.model.observation import Answer
from fleet.model.settings import Cause
from fleet.protocol import messages
from tests.adapters.fake_device import PACK, FakeDevice
from tests.adapters.rig import DEVICE_ID, command
from tests.adapters.watched import Watched, on_virtual_time


def test_a_good_device_becomes_and_stays_fresh() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(60.0)
        assert watched.states(DEVICE_ID) == [ContactState.CONNECTING, ContactState.FRESH]
        assert len(watched.attempts(DEVICE_ID)) == 1

    on_virtual_time(check, DEVICE_ID)


def test_a_refused_connection_is_tried_again_with_growing_jittered_pauses() -> None:
    async def check(watched: Watched) -> None:
        watched.network.unreachable.add(watched.url(DEVICE_ID))
        await watched.clock.sleep(60.0)
        assert watched.states(DEVICE_ID) == [ContactState.CONNECTING, ContactState.LOST]
        assert "connection refused" in watched.reasons(DEVICE_ID)
        pauses = np.diff(watched.attempts(DEVICE_ID))
        assert pauses[0] < 0.51
        assert pauses.max() <= 2.0 + 1e-6
        assert len(set(pauses[3:].round(6))) == len(pauses[3:]), "jitter"
        last = watched.heard.contacts[-1]
        assert last.attempts == len(watched.attempts(DEVICE_ID))
        assert last.next_attempt_utc_us is not None
        watched.network.unreachable.clear()
        await watched.clock.sleep(5.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH

    on_virtual_time(check, DEVICE_ID)


def test_retry_now_ends_the_pause() -> None:
    async def check(watched: Watched) -> None:
        watched.network.unreachable.add(watched.url(DEVICE_ID))
        await watched.clock.sleep(30.0)
        before = len(watched.attempts(DEVICE_ID))
        watched.network.unreachable.clear()
        watched.supervisor.retry_now(DEVICE_ID)
        await watched.clock.sleep(0.1)
        assert len(watched.attempts(DEVICE_ID)) == before + 1
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH
        with pytest.raises(NotFound):
            watched.supervisor.retry_now("quay-9")

    on_virtual_time(check, DEVICE_ID)


HEARTBEAT = b'{"jsonrpc":"2.0","method":"heartbeat","params":{"device_time_us":%s,"boot_id":"boot-1","counter":1}}'
READINGS = (
    b'{"jsonrpc":"2.0","method":"readings","params":{"subscription":4,"sequence":9,"device_time_us":1,"values":%s}}'
)
HOSTILE = {
    "garbage": b"\xff\xfe\x00",
    "NaN": READINGS % b"[NaN,1,1,1]",
    "beyond a double": READINGS % b"[1e999,1,1,1]",
    "beyond an integer": HEARTBEAT % (b"9" * 400),
    "deep": b"[" * 100_000,
    "deep in an unknown member": HEARTBEAT % b"1" + b"\n",
    "huge": b'{"jsonrpc":"2.0","method":"notice","params":{"code":"x","words":"' + b"x" * (1 << 20) + b'"}}',
    "a lone surrogate": b'{"jsonrpc":"2.0","method":"notice","params":{"code":"x","words":"\\ud800"}}',
    "bytes that are no UTF-8": b'{"jsonrpc":"2.0","method":"notice","params":{"code":"x","words":"\xff"}}',
    "a response to nothing": b'{"jsonrpc":"2.0","id":99,"result":{}}',
    "too few values": READINGS % b"[1,2,3]",
    "something it didn't describe": json.dumps(
        {
            "jsonrpc": "2.0",
            "method": "changed",
            "params": {"address": "pack/else", "revision": "b.2", "cause": "panel", "settings": {}},
        }
    ).encode(),
}
HOSTILE["deep in an unknown member"] = (
    b'{"jsonrpc":"2.0","method":"described","params":{"digest":"d","more":' + b"[" * 40 + b"]" * 40 + b"}}"
)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_device_goes_bad_alone(name: str) -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(5.5)
        await watched.devices["quay-2"].say_raw(HOSTILE[name])
        await watched.clock.sleep(2.0)
        assert watched.states("quay-2")[-1] is ContactState.BAD
        assert "broke the protocol" in watched.reasons("quay-2")
        assert watched.devices["quay-2"].connections == 1, "not tried again at once"
        await watched.clock.sleep(10.0)
        assert watched.states("quay-2")[-1] is ContactState.FRESH, "but tried again"
        for other in ("quay-1", "quay-3"):
            assert watched.states(other) == [ContactState.CONNECTING, ContactState.FRESH]
            assert watched.devices[other].connections == 1

    on_virtual_time(check, "quay-1", "quay-2", "quay-3")


def test_a_device_that_stays_bad_is_tried_ever_more_rarely() -> None:
    async def check(watched: Watched) -> None:
        for _ in range(400):
            await watched.clock.sleep(1.5)
            device = watched.devices[DEVICE_ID]
            if device.transport is not None:
                await device.say_raw(b"no")
        pauses = np.diff(watched.attempts(DEVICE_ID))
        assert pauses.max() > 30.0
        assert len(pauses) < 30

    on_virtual_time(check, DEVICE_ID)


SMALL = b'{"jsonrpc":"2.0","method":"notice","params":{"code":"a","words":""}}'
LARGE = b'{"jsonrpc":"2.0","method":"later","params":{"more":"' + b"x" * 1_000_000 + b'"}}'
ASKING = b'{"jsonrpc":"2.0","method":"described","params":{"digest":"d"}}'


@pytest.mark.parametrize(
    ("message", "count"), [(SMALL, 2_100), (LARGE, 12), (ASKING, 2_100)], ids=["many", "large", "asking"]
)
def test_a_flood_is_an_offence(message: bytes, count: int) -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(1.0)
        device = watched.devices[DEVICE_ID]
        with contextlib.suppress(ConnectionError, AssertionError):
            for _ in range(count):
                await device.say_raw(message)
        await watched.clock.sleep(0.5)
        assert watched.states(DEVICE_ID)[-1] is ContactState.BAD
        assert "messages in a second" in watched.reasons(DEVICE_ID)

    on_virtual_time(check, DEVICE_ID)


def test_a_knob_that_turns_by_itself_is_an_offence_before_it_fills_the_journal() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(1.0)
        device = watched.devices[DEVICE_ID]
        with contextlib.suppress(ConnectionError, AssertionError):
            for turn in range(1_500):
                await device.say(device.change(PACK, {"low_cut_hz": 80 + turn % 2}, Cause.PANEL))
                await watched.clock.sleep(0.01)
        await watched.clock.sleep(0.5)
        assert watched.states(DEVICE_ID)[-1] is ContactState.BAD
        assert "more than 1200 changes in a minute" in watched.reasons(DEVICE_ID)

    on_virtual_time(check, DEVICE_ID)


def test_a_restart_of_the_device_is_a_new_contact_not_a_loss() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(5.5)
        watched.devices[DEVICE_ID].boot_id = "boot-2"
        await watched.clock.sleep(5.0)
        wanted = [ContactState.CONNECTING, ContactState.FRESH, ContactState.CONNECTING, ContactState.FRESH]
        assert watched.states(DEVICE_ID) == wanted
        assert "restarted" in watched.reasons(DEVICE_ID)
        assert watched.heard.contacts[-1].boot_id == "boot-2"
        complete = [report for report in watched.heard.reports if report.address == PACK]
        assert [report.revision for report in complete] == ["boot-1.1", "boot-2.1"]

    on_virtual_time(check, DEVICE_ID)


def test_a_device_that_says_much_before_it_says_what_it_is_is_bad() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(5.5)
        device = watched.devices[DEVICE_ID]
        device.ignores = (messages.Describe,)
        await device.say(messages.Described("digest-2"))
        with contextlib.suppress(ConnectionError, AssertionError):
            for _ in range(1_001):
                await device.say(messages.Outcome("c-1", "done"))
                await watched.clock.sleep(0.005)
        await watched.clock.sleep(0.5)
        assert watched.states(DEVICE_ID)[-1] is ContactState.BAD
        assert "more than 1000 messages while it was asked what it is" in watched.reasons(DEVICE_ID)

    on_virtual_time(check, DEVICE_ID)


def test_a_device_that_leaves_a_request_unanswered_is_greeted_anew() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(5.5)
        device = watched.devices[DEVICE_ID]
        device.ignores = (messages.Describe,)
        await device.say(messages.Described("digest-2"))
        await watched.clock.sleep(11.5)
        assert "left a request without an answer for 10 s" in watched.reasons(DEVICE_ID)
        device.ignores = ()
        await watched.clock.sleep(10.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH
        await device.say(messages.Notice("hello", "again"))
        await watched.clock.sleep(0.1)
        assert watched.heard.observations[-1].notices[0].code == "hello"

    on_virtual_time(check, DEVICE_ID)


def test_another_device_at_the_address_is_refused_in_words() -> None:
    async def check(watched: Watched) -> None:
        watched.devices[DEVICE_ID].device_id = "quay-7"
        await watched.clock.sleep(2.0)
        assert "someone else is here: the device there says it is quay-7" in watched.reasons(DEVICE_ID)
        assert ContactState.FRESH not in watched.states(DEVICE_ID)

    on_virtual_time(check, DEVICE_ID)


def test_a_write_reaches_its_device_only_and_fails_in_words_without_contact() -> None:
    async def check(watched: Watched) -> None:
        watched.network.unreachable.add(watched.url("quay-2"))
        await watched.clock.sleep(3.0)
        await watched.supervisor.write(command())
        await watched.clock.sleep(0.1)
        assert [a.answer for item in watched.heard.observations for a in item.answers] == [
            Answer.ACCEPTED,
            Answer.DONE,
        ]
        with pytest.raises(ContactFailed, match="not in contact"):
            await watched.supervisor.read_back("quay-2", PACK)

    on_virtual_time(check, DEVICE_ID, "quay-2")


def test_five_hundred_return_together_within_eleven_seconds_at_fifty_connects_a_second() -> None:
    names = [f"rack-{number}" for number in range(500)]

    async def check(watched: Watched) -> None:
        urls = {address.url for address in watched.addresses}
        watched.network.unreachable |= urls
        await watched.clock.sleep(20.0)
        watched.network.unreachable.clear()
        await watched.clock.sleep(11.0)
        assert all(watched.states(name)[-1] is ContactState.FRESH for name in names)
        times = np.array([at for at, _ in watched.network.attempts])
        busiest = max(np.count_nonzero((times >= at) & (times < at + 0.999)) for at in times)
        assert busiest <= 50

    on_virtual_time(check, *names)


def test_another_device_that_is_watched_elsewhere_is_said_with_where() -> None:
    async def check(watched: Watched) -> None:
        watched.devices["quay-2"].device_id = DEVICE_ID
        await watched.clock.sleep(2.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH
        assert watched.states("quay-2")[-1] is ContactState.BAD
        assert f"says it is {DEVICE_ID}, which is watched at {watched.url(DEVICE_ID)}" in watched.reasons("quay-2")

    on_virtual_time(check, DEVICE_ID, "quay-2")


def test_a_device_that_is_simulated_where_a_real_one_is_listed_is_refused() -> None:
    async def check(watched: Watched) -> None:
        [listed] = watched.addresses
        await watched.supervisor.keep_only([replace(listed, simulated=False)])
        await watched.clock.sleep(2.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.BAD
        assert "a simulated one, and the device list expects a real device" in watched.reasons(DEVICE_ID)
        await watched.supervisor.keep_only([replace(listed, simulated=True)])
        await watched.clock.sleep(2.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH

    on_virtual_time(check, DEVICE_ID)


def test_a_change_of_the_list_touches_only_what_changed() -> None:
    async def check(watched: Watched) -> None:
        await watched.clock.sleep(2.0)
        stays, goes = watched.addresses
        added = watched.network.add(FakeDevice("quay-3", watched.clock))
        await watched.supervisor.keep_only([stays, added])
        heard = len(watched.heard.contacts)
        await watched.clock.sleep(2.0)
        assert watched.states("quay-3") == [ContactState.CONNECTING, ContactState.FRESH]
        assert len(watched.attempts(stays.device_id)) == 1
        assert all(contact.device_id != goes.device_id for contact in watched.heard.contacts[heard:])
        with pytest.raises(NotFound):
            watched.supervisor.retry_now(goes.device_id)
        await watched.supervisor.keep_only([stays, goes, added])
        await watched.clock.sleep(2.0)
        assert watched.states(goes.device_id)[-1] is ContactState.FRESH

    on_virtual_time(check, DEVICE_ID, "quay-2")


def test_a_device_that_is_listed_elsewhere_is_called_there() -> None:
    async def check(watched: Watched) -> None:
        [listed] = watched.addresses
        watched.network.unreachable.add(listed.url)
        await watched.clock.sleep(10.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.LOST
        elsewhere = "ws://127.0.0.1:2/elsewhere"
        watched.network.devices[elsewhere] = watched.devices[DEVICE_ID]
        await watched.supervisor.keep_only([replace(listed, url=elsewhere)])
        await watched.clock.sleep(2.0)
        assert watched.states(DEVICE_ID)[-1] is ContactState.FRESH

    on_virtual_time(check, DEVICE_ID)
