"""An alarm of a device behind a gateway outlives a restart of the console, as one of a device with an address does."""

from __future__ import annotations

from contextlib import AsyncExitStack
from pathlib import Path

import pytest

from fleet.journal.writer import InlineWriter
from fleet.model.alarm import Alarm, AlarmState
from fleet.model.device import ContactState, ContactStatus
from fleet.model.event import AlarmChanged, ContactChanged
from fleet.model.inputs import DevicesWatched, Restored
from fleet.stores import open_stores
from tests.journal.samples import AT, numbered
from tests.small_fleet import Hand
from tests.virtual_time import run_virtual

GATEWAY, DEVICE = "gate-1", "shed-1"
ALARM = Alarm(f"contact-lost:{DEVICE}", "contact-lost", DEVICE, AlarmState.UNACKNOWLEDGED, 1, 1, 2, {})
WATCHED = frozenset({GATEWAY})


@pytest.mark.parametrize(("behind", "stays"), [({DEVICE: GATEWAY}, True), ({}, False), ({DEVICE: "gate-2"}, False)])
def test_what_was_behind_a_gateway_that_is_watched_may_come_back(behind: dict[str, str], stays: bool) -> None:
    hand = Hand()
    hand.give(Restored(hand.at, (), (ALARM,), WATCHED, behind=behind))
    none: frozenset[str] = frozenset()
    hand.give(DevicesWatched(hand.at, WATCHED, switched_off=none, replayed=none, revision=0, by=""))
    assert bool(hand.pipeline.alarms()) is stays


@pytest.mark.parametrize(("through", "watched"), [(GATEWAY, True), ("", True), (GATEWAY, False)])
def test_the_journal_knows_what_a_device_was_reached_through(tmp_path: Path, through: str, watched: bool) -> None:
    url = f"sqlite:///{tmp_path / 'journal.sqlite3'}"

    async def main() -> Restored:
        async with AsyncExitStack() as stack:
            stores = await open_stores(url, InlineWriter, stack)
            earlier = ContactStatus(DEVICE, ContactState.FRESH, 1, reached_through="gate-0")
            last = ContactStatus(DEVICE, ContactState.LOST, 1, reached_through=through)
            events = (ContactChanged(AT, earlier), ContactChanged(AT, last), AlarmChanged(AT, ALARM))
            await stores.writer.commit(numbered(1, *events))
            return await stores.remembered(AT, WATCHED if watched else frozenset({DEVICE}))

    expected = {DEVICE: GATEWAY} if through and watched else {}
    assert run_virtual(main()).behind == expected
