"""A virtual device: what stands behind the protocol, apart from any conversation with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from fleet.model.fields import Value
from fleet.model.quality import Quality
from fleet.protocol.messages import LayoutEntry, SettingsEntry, Write
from simulator.audience import Audience, Listener
from simulator.board import Board, Known
from simulator.capabilities import digest_of
from simulator.gear import Exact, Gear, Reading
from simulator.pack_capabilities import pack_capabilities
from simulator.pack_control import PackControl
from simulator.vitals import Vitals
from simulator.world import World
from simulator.writes import Refused, Reply
from simulator.writing import Parts, Writing

RESTART_US = 2_000_000
FOREVER_US = 1 << 62


class SimulatedDevice:
    """One device in a world. It reads no clock: ``now_us`` is the world's time.

    ``silent_until_us`` is when it speaks again; until then it neither answers nor reports, but its sockets stay open.
    """

    def __init__(self, world: World, gear: Gear, packs: PackControl, vitals: Vitals) -> None:
        self.world = world
        self.gear = gear
        self.packs = packs
        self.vitals = vitals
        self.audience = Audience()
        self.silent_until_us = 0
        self._boots = 0
        self._describe()
        self._boot(0)

    def _describe(self) -> None:
        own = self.gear.describe()
        seats = self.packs.seats
        self.description = replace(
            own, packs=tuple(seats), capabilities=(*own.capabilities, *pack_capabilities(list(seats.values())))
        )
        self.device_id = own.device_id
        self.digest = digest_of(self.description)

    # ------------------------------------------------------------ boots and time

    def _boot(self, now_us: int) -> None:
        self._boots += 1
        self.boot_id = self.world.luck.word(f"boot {self._boots} of {self.device_id}")
        self._booted_us = now_us
        self._booted_block = self.world.blocks_done
        self._board = Board(self.boot_id, self.description, self._known)
        self._writing = Writing(Parts(self.world, self.gear, self.packs, self._board, self.audience))

    def reboot(self, now_us: int) -> None:
        """Restart: settings stay, revisions and commands under way are lost, and it takes two seconds."""
        self.packs.forget()
        self.vitals.restart(now_us)
        self._boot(now_us)
        self.silent_until_us = max(self.silent_until_us, now_us + RESTART_US)
        self.audience.hang_up()

    def is_silent(self, now_us: int) -> bool:
        """Whether it says nothing now."""
        return now_us < self.silent_until_us

    def device_time_us(self, now_us: int) -> int:
        """Its own monotonic time, which starts at each boot."""
        return now_us - self._booted_us

    @property
    def measured_blocks(self) -> int:
        """The counter of its measuring loop since the boot."""
        return self.world.blocks_done - self._booted_block

    def advance(self, now_us: int) -> None:
        """Let time pass for the world and take in what came over the return links."""
        self.world.advance(now_us)
        self._writing.advance(now_us)

    # ------------------------------------------------------------ settings

    def _known(self) -> Known:
        return {**self.gear.settings, **self.packs.known()}

    def addresses(self) -> list[str]:
        """Everything of it that has settings."""
        return self._board.addresses()

    def known_settings(self, address: str) -> dict[str, Value]:
        """The settings of an address as the device knows them: of a pack, as last told by the return link."""
        return self._board.settings(address)

    def revision(self, address: str) -> str:
        """The revision of an address within this boot."""
        return self._board.revision(address)

    def entry(self, address: str) -> SettingsEntry:
        """All settings of an address with their revision."""
        vouched = self.why_unreadable(address) is None
        return SettingsEntry(address, self.revision(address), self.known_settings(address), 1 if vouched else 2)

    def why_unreadable(self, address: str) -> Refused | None:
        """Why a pack's settings can't be told for certain now, or None when they can."""
        return self.packs.why_unreadable(address) if address in self.packs.seats else None

    def write(self, request: Write, now_us: int, asker: Listener) -> Reply:
        """Take a write or refuse it; what becomes of it is published."""
        return self._writing.write(request, now_us, asker)

    def cancel(self, command_id: str) -> bool:
        """Give up a write that waits; whether there was one."""
        return self._writing.cancel(command_id)

    def turn_panel(self, address: str, changes: Mapping[str, Value]) -> None:
        """Somebody sets the device at its front, or a pack in their hand.

        Raises NotFound for an address that isn't here, InvalidRequest for a setting or value that isn't possible.
        """
        self._writing.turn_panel(address, changes)

    # ------------------------------------------------------------ readings

    def layout(self) -> list[LayoutEntry]:
        """The order of the values in its frames."""
        return [*self.gear.layout(), *self.packs.layout(), self.vitals.layout()]

    def readings(self, since_block: int, now_us: int) -> tuple[list[Reading], dict[int, int]]:
        """The values for all blocks after ``since_block``, and the qualities of those that aren't good, by index."""
        values = self.gear.readings(since_block)
        said, uncertain = self.packs.readings(self.world.meters(since_block), now_us)
        qualities = {len(values) + index: int(Quality.UNCERTAIN) for index in uncertain}
        return [*values, *said, *self.vitals.readings(now_us)], qualities

    def exact(self, now_us: int) -> Exact:
        """Readings that are text or exact integers, as they stand."""
        return {**self.gear.exact(), **self.packs.exact(now_us), **self.vitals.exact()}


def changed_exact(before: Exact, now: Exact) -> Exact:
    """Those exact readings that differ."""
    return {address: values for address, values in now.items() if before.get(address) != values}
