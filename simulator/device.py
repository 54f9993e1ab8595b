"""A virtual device: what stands behind the protocol, apart from any conversation with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fleet.model.description import addresses_in
from fleet.model.fields import Value
from fleet.model.quality import Quality
from fleet.protocol.codes import ErrorCode
from fleet.protocol.messages import Act, Described, LayoutEntry, Lease, Leased, SettingsEntry, Write
from simulator.acting import Acting
from simulator.audience import Audience, Listener
from simulator.board import Board, Known
from simulator.capabilities import digest_of
from simulator.gear import Exact, Gear, Reading
from simulator.leases import Granting
from simulator.leases import Lease as DeviceLease
from simulator.offers import offers_of
from simulator.pack_capabilities import pack_capabilities
from simulator.pack_control import PackControl
from simulator.repertoire import Repertoire, Stage
from simulator.rows import Row
from simulator.scenario_gear import Gear as GearSpec
from simulator.vitals import Vitals
from simulator.world import BLOCK_US, World
from simulator.writes import Refused, Reply
from simulator.writing import Parts, Writing

RESTART_US = 2_000_000
FOREVER_US = 1 << 62
_CLOCK_SETTINGS = frozenset({"clock_source", "sample_rate_hz"})


@dataclass(frozen=True, slots=True)
class Make:
    """What a device is made of. ``rows`` are those of a receiver, ``scans`` is the antenna of a scanner."""

    spec: GearSpec
    gear: Gear
    packs: PackControl
    vitals: Vitals
    rows: tuple[Row, ...] = ()
    scans: str = ""


class SimulatedDevice:
    """One device in a world. It reads no clock: ``now_us`` is the world's time.

    ``silent_until_us`` is when it speaks again; until then it neither answers nor reports, but its sockets stay open.
    """

    def __init__(self, world: World, make: Make) -> None:
        self.world = world
        self.gear = make.gear
        self.packs = make.packs
        self.vitals = make.vitals
        self.audience = Audience()
        self.lease = DeviceLease(exists=make.spec.leases)
        self.silent_until_us = 0
        self._spec = make.spec
        self._stage = Stage(world, make.packs, make.rows, make.scans, self._restart_soon)
        self._repertoire = Repertoire(self._stage)
        self._boots = 0
        self._restarts = False
        self._slips_per_s = 0.0
        self._advanced_us = 0
        self._describe()
        self._boot(0)

    def _describe(self) -> None:
        own, seats = self.gear.describe(), self.packs.seats
        capabilities = (*own.capabilities, *pack_capabilities(list(seats.values())))
        if own.read_only:
            capabilities = tuple(replace(each, writable=False) for each in capabilities)
        described = replace(own, packs=tuple(seats), capabilities=capabilities)
        self.description = replace(described, acts=() if own.read_only else offers_of(self._spec, described))
        self.device_id = own.device_id
        self.described_addresses = frozenset(address for _, address in addresses_in(self.description))
        self._has_clock_settings = not _CLOCK_SETTINGS.isdisjoint(self.gear.settings[own.device_id])
        self.digest = digest_of(self.description)

    def plug(self, module: str) -> bool:
        """Plug a module in, which changes what it describes; whether it has such a one."""
        plugged = self.gear.plug(module)
        if plugged:
            self._describe()
            self._board.redescribe(self.description)
            self._acting.redescribe(self.description.acts)
            self.audience.tell(Described(self.digest, self.device_id))
        return plugged

    # ------------------------------------------------------------ boots and time

    def _boot(self, now_us: int) -> None:
        self._boots += 1
        self.boot_id = self.world.luck.word(f"boot {self._boots} of {self.device_id}")
        self._booted_us = now_us
        self._booted_block = self.world.blocks_done
        self._board = Board(self.boot_id, self.description, self._known)
        self._writing = Writing(Parts(self.world, self.gear, self.packs, self._board, self.audience))
        self._acting = Acting(self.description.acts, self._repertoire.perform, self.audience)

    def reboot(self, now_us: int) -> None:
        """Restart: settings stay, revisions and commands under way are lost, and it takes two seconds."""
        self._acting.forget()
        self.packs.forget()
        self.vitals.restart(now_us)
        self.lease = DeviceLease(exists=self.lease.exists)
        self._boot(now_us)
        self.silent_until_us = max(self.silent_until_us, now_us + RESTART_US)
        self.audience.hang_up()

    def _restart_soon(self) -> None:
        """Restart with the next block, once the outcome has been told."""
        self._restarts = True

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
        """Let time pass for the world and take in what came over the return links; once for each moment."""
        self.world.advance(now_us)
        if now_us == self._advanced_us:
            return
        if self._restarts and now_us - self._advanced_us >= BLOCK_US:
            self._restarts = False
            self.reboot(now_us)
        self._advanced_us = now_us
        if not self.is_silent(now_us):  # Whoever is frozen takes nothing in.
            self._writing.advance(now_us)
            self._acting.advance(now_us)
        if self._has_clock_settings:
            self.vitals.heed(self.gear.settings[self.device_id], now_us)
        if self.vitals.slips_per_s != self._slips_per_s:
            self._slips_per_s = self.vitals.slips_per_s
            self.world.clicks.set(self._stage.rows, self._slips_per_s)
        if self.lease.exists and self.lease.expire(now_us):
            self.audience.tell(Leased(self.device_id, ""))

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

    def turn_panel(self, address: str, changes: Mapping[str, Value]) -> None:
        """Somebody sets the device at its front, or a pack in their hand.

        Raises NotFound for an address that isn't here, InvalidRequest for a setting or value that isn't possible.
        """
        self._writing.turn_panel(address, changes)

    def hand(self, address: str) -> int:
        """A hand does what writes and acts at an address wait for; how many there were."""
        return self.packs.hand(address) + self._acting.hand(address)

    # ------------------------------------------------------------ commands

    def _why_not(self, asker: Listener) -> Refused | None:
        if self.description.read_only:
            return Refused(ErrorCode.UNSUPPORTED, "this device can only be read")
        return self.lease.why_not(asker)

    def write(self, request: Write, now_us: int, asker: Listener) -> Reply:
        """Take a write or refuse it; what becomes of it is published."""
        return self._writing.write(request, now_us, asker, self._why_not(asker))

    def act(self, request: Act, now_us: int, asker: Listener) -> Reply:
        """Take an act or refuse it; what becomes of it is told to whoever asked."""
        return self._acting.act(request, now_us, asker, self._why_not(asker))

    def cancel(self, command_id: str, asker: Listener) -> bool | Refused:
        """Give up a write that waits, or an act; whether there was one."""
        return self._why_not(asker) or self._writing.cancel(command_id) or self._acting.cancel(command_id)

    def give_lease(self, request: Lease, now_us: int, asker: Listener) -> Granting:
        """Give the lease, or say who has it."""
        before = self.lease.is_held_by(asker)
        granting = self.lease.ask(asker, request.seconds, now_us, take=request.take)
        if granting.granted and not before:
            self.audience.tell(Leased(self.device_id, granting.holder), but=asker)
        return granting

    def free_lease(self, asker: Listener) -> None:
        """Take the lease back from a client that is done, if it held it."""
        if self.lease.release(asker):
            self.audience.tell(Leased(self.device_id, ""), but=asker)

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
    return {
        address: values
        for address, values in now.items()
        if (old := before.get(address)) is not values and old != values
    }
