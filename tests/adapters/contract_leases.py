"""What an adapter must do for a device that takes writes from one console at a time."""

from __future__ import annotations

import pytest

from fleet.errors import ContactFailed
from fleet.model.device import Lease
from fleet.model.observation import Answer
from fleet.protocol import messages
from tests.adapters.contract import Check, answers
from tests.adapters.fake_device import FakeDevice
from tests.adapters.rig import DEVICE_ID, Rig, act, command

RIVAL = "the other desk"


def leasing(device: FakeDevice) -> None:
    """Let the device give leases."""
    device.leases = True


async def the_lease_is_taken_after_the_introduction(rig: Rig) -> None:
    assert leases(rig) == [Lease(ours=True)]
    assert rig.device.asked == [messages.Lease(DEVICE_ID, 30, take=False)]


async def it_is_renewed_every_ten_seconds(rig: Rig) -> None:
    await rig.clock.sleep(31.5)
    assert len(rig.device.asked) == 4
    assert not any(lease.take for lease in rig.device.asked), "no program takes a lease by itself"


async def it_is_given_back_at_the_end(rig: Rig) -> None:
    await rig.adapter.close()
    await rig.clock.sleep(0.05)
    assert not rig.device.held


async def who_takes_it_is_told_and_a_write_is_refused(rig: Rig) -> None:
    await lose_it(rig)
    assert leases(rig)[-1] == Lease(ours=False, holder=RIVAL)
    await rig.adapter.write(command())
    await rig.adapter.act(act("identify"), {})
    await rig.clock.sleep(0.05)
    assert answers(rig) == [Answer.REFUSED, Answer.REFUSED]
    said = [answer.reason for item in rig.heard.observations for answer in item.answers]
    assert all(RIVAL in reason for reason in said)


async def a_lease_of_another_is_asked_for_politely(rig: Rig) -> None:
    await lose_it(rig)
    await rig.clock.sleep(25.0)
    assert leases(rig)[-1] == Lease(ours=False, holder=RIVAL)
    assert not any(lease.take for lease in rig.device.asked)


async def one_that_is_free_again_is_asked_for_at_once(rig: Rig) -> None:
    await lose_it(rig)
    rig.device.rival = ""
    await rig.device.say(messages.Leased(DEVICE_ID, ""))
    await rig.clock.sleep(0.2)
    assert leases(rig)[-1] == Lease(ours=True)


async def a_person_takes_it(rig: Rig) -> None:
    await lose_it(rig)
    await rig.adapter.take_lease(DEVICE_ID)
    await rig.clock.sleep(0.05)
    assert rig.device.asked[-1].take
    assert leases(rig)[-1] == Lease(ours=True)


async def after_the_end_nobody_takes_it(rig: Rig) -> None:
    await rig.adapter.close()
    with pytest.raises(ContactFailed, match="not in contact"):
        await rig.adapter.take_lease(DEVICE_ID)


async def lose_it(rig: Rig) -> None:
    rig.device.rival, rig.device.held = RIVAL, False
    await rig.device.say(messages.Leased(DEVICE_ID, RIVAL))
    await rig.clock.sleep(0.05)


def leases(rig: Rig) -> list[Lease]:
    return [item.lease for item in rig.heard.observations if item.lease is not None]


LEASE_CHECKS: tuple[Check, ...] = (
    the_lease_is_taken_after_the_introduction,
    it_is_renewed_every_ten_seconds,
    it_is_given_back_at_the_end,
    who_takes_it_is_told_and_a_write_is_refused,
    a_lease_of_another_is_asked_for_politely,
    one_that_is_free_again_is_asked_for_at_once,
    a_person_takes_it,
    after_the_end_nobody_takes_it,
)
"""The profile of devices that lease."""
