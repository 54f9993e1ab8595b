"""A whole console over the bad link, which can die and rise again; and the truth about what the devices did."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Mapping, Sequence
from contextlib import asynccontextmanager
from pathlib import Path

import numpy as np
import sqlalchemy as sa
from sqlalchemy.engine.interfaces import DBAPIConnection

from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.supervisor import Supervisor
from fleet.clock import LoopClock
from fleet.errors import JournalUnavailable
from fleet.journal.entries import StateEvent
from fleet.journal.writer import InlineWriter
from fleet.model.event import Recorded
from fleet.model.fields import Value
from fleet.model.production import Position, Production
from fleet.runtime import Plan, Runtime, Sink
from simulator.scenario import Scenario
from simulator.virtual_fleet import VirtualFleet
from tests.promises.bad_link import BadLink
from tests.promises.performed import Performed
from tests.simulator.small_stage import channel_text, receiver_text, scenario

UTC_START_US = 1_900_000_000_000_000
DEVICES = ("rack-1", "rack-2", "rack-3")
CHANNELS_EACH = 2
LEASING, BEHIND = "rack-2", "rack-3"
"""One of the devices leases, and one stands behind a gateway."""


class MortalWriter(InlineWriter):
    """``dies`` says that the console dies "before" or "after" the next commit; its link dies in the same moment."""

    def __init__(self, url: str, link: BadLink) -> None:
        super().__init__(url)
        self.dies = ""
        self._link = link
        sa.event.listen(self.ledger.engine, "connect", _unsynced)

    async def commit(self, recorded: Sequence[Recorded], states: Sequence[StateEvent] = ()) -> None:
        if self.dies == "after" and not self._link.dead:
            await super().commit(recorded, states)
        self._link.dead = self._link.dead or bool(self.dies)
        if self._link.dead:
            raise JournalUnavailable("the console is dead")
        await super().commit(recorded, states)


def _unsynced(connection: DBAPIConnection, _entry: object) -> None:
    """The console dies here, never the machine, so that nothing is gained by waiting for the disk."""
    cursor = connection.cursor()
    cursor.execute("PRAGMA synchronous = OFF")
    cursor.close()


class Effects(dict[str, Value]):
    """Settings as a device keeps them, and a record of every value that was ever put in."""

    def __init__(self, before: Mapping[str, Value]) -> None:
        super().__init__(before)
        self.put: list[tuple[str, Value]] = []

    def update(self, changes: Mapping[str, Value]) -> None:  # type: ignore[override]  # The simulator gives no other.
        self.put += changes.items()
        super().update(changes)


class Stage:
    """``effects`` are the truth by address: what each device and pack really holds, and ever held.

    ``performed`` is the truth about acts.
    """

    def __init__(self, folder: Path, seed: int, make_writer: type[MortalWriter] = MortalWriter) -> None:
        self._make_writer = make_writer
        self.folder = folder
        self.seed = seed
        self.clock = LoopClock(UTC_START_US)
        self.luck = np.random.default_rng(seed)
        self.fleet = VirtualFleet(_scenario(), seed)
        self.link = BadLink(self.fleet, self.clock)
        self.effects = _watched(self.fleet)
        self.performed = Performed(self.fleet)
        self.runtime: Runtime
        self.writer: MortalWriter

    async def rise(self) -> None:
        """Start the console on the journal that is there."""
        self.link.dead = False
        self.runtime = await Runtime.start(self._plan(), self.clock)

    async def fall(self) -> None:
        """End the console as a crash does: from now on nothing of it reaches the disk or a device."""
        self.link.dead = True
        await self.runtime.stop()

    def _plan(self) -> Plan:
        numbers = range(1, CHANNELS_EACH + 1)
        channels = [f"{device_id}/channel/{number}" for device_id in DEVICES for number in numbers]
        positions = tuple(Position(i, f"Part {i}", "Stage", channel) for i, channel in enumerate(channels, 1))
        return Plan(
            database_url=f"sqlite:///{self.folder / 'journal.sqlite3'}",
            make_contacts=self._contacts,
            software_version="test",
            devices=self.link.addresses(),
            production=Production("The Lamp at Tern Rock", ("Stage",), positions),
            make_writer=self._writer,
        )

    def _writer(self, url: str) -> MortalWriter:
        self.writer = self._make_writer(url, self.link)
        return self.writer

    def _contacts(self, sink: Sink) -> Supervisor:
        luck = np.random.default_rng(self.seed)
        return Supervisor(
            self.clock, luck, sink, lambda device, heard: OpenJsonAdapter(device, self.link.connect, self.clock, heard)
        )

    def settings_of(self, address: str) -> Mapping[str, Value]:
        """What the device or pack really holds now."""
        return self.effects[address]

    def journal(self) -> list[Recorded]:
        """The whole journal."""
        entries: list[Recorded] = []
        while page := self.runtime.reader.events(entries[-1].sequence if entries else 0, 1_000):
            entries += page
        return entries


def _scenario() -> Scenario:
    receivers = []
    for index, device_id in enumerate(DEVICES):
        packs = [f"p{index * CHANNELS_EACH + number}" for number in range(1, CHANNELS_EACH + 1)]
        channels = [channel_text(pack, 520_000_000 + 2_000_000 * int(pack[1:])) for pack in packs]
        more = f'acts = ["identify", "make_key"]\nleases = {"true" if device_id == LEASING else "false"}\n'
        receivers.append(receiver_text(device_id, *channels).replace("analog = false\n", f"analog = false\n{more}", 1))
    return scenario(*receivers, f'[[gateway]]\nid = "gate-1"\ndevices = ["{BEHIND}"]\n')


def _watched(fleet: VirtualFleet) -> dict[str, Effects]:
    """Put records in the place of the settings that devices and packs keep."""
    effects: dict[str, Effects] = {}
    for device in fleet.devices.values():
        own = device.gear.settings
        own[device.device_id] = effects[device.device_id] = Effects(own[device.device_id])
    for row in fleet.world.rows:
        front, pack = fleet.world.fronts[row.index], fleet.world.packs[row.index]
        front.carrier = effects[row.carrier] = Effects(front.carrier)
        front.channel = effects[row.channel] = Effects(front.channel)
        fleet.device(row.device_id).gear.settings |= {row.carrier: front.carrier, row.channel: front.channel}
        pack.settings = effects[row.pack] = Effects(pack.settings)
    return effects


@asynccontextmanager
async def staged(folder: Path, seed: int, make_writer: type[MortalWriter] = MortalWriter) -> AsyncIterator[Stage]:
    """A stage whose devices are all in contact; its end heals everything first."""
    logging.disable(logging.CRITICAL)  # What fails here fails on cue, thousands of times.
    stage = Stage(folder, seed, make_writer)
    turning = asyncio.create_task(stage.link.run(), name="the bad link")
    try:
        await stage.rise()
        await stage.clock.sleep(3.0)
        yield stage
    finally:
        await stage.runtime.stop()
        turning.cancel()
        await asyncio.gather(turning, return_exceptions=True)
        logging.disable(logging.NOTSET)
