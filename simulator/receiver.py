"""A virtual receiver: the device behind the protocol, apart from any conversation with it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from fleet.errors import InvalidRequest, NotFound, ValueRefused
from fleet.model.fields import Value
from fleet.model.settings import Cause
from fleet.protocol.codes import ErrorCode
from fleet.protocol.messages import Changed, NotificationBody, Outcome, SettingsEntry, Write
from simulator.capabilities import allowed, as_held, describe, digest_of, find_capability, problem_of
from simulator.return_link import Declined, Delivered, News, Noticed, ReturnLink, Undelivered
from simulator.rows import Row
from simulator.world import World, set_pack
from simulator.writes import WAITING_MAXIMUM, CommandMemory, Pace, Refused, Reply, Taken, WaitingWrite

RESTART_US = 2_000_000
BUSY_RETRY_S = 1.0
FOREVER_US = 1 << 62


class Listener(Protocol):
    """A conversation that wants the receiver's news."""

    def hear(self, news: NotificationBody) -> None:
        """Take a notification to pass on."""

    def hang_up(self) -> None:
        """The receiver restarts: the conversation is over."""


class SimulatedReceiver:
    """One receiver in a world. It reads no clock: ``now_us`` is the world's time.

    ``silent_until_us`` is when it speaks again; until then it neither answers nor reports, but its sockets stay open.
    """

    def __init__(self, world: World, device_id: str) -> None:
        self.world = world
        self.device_id = device_id
        self.rows: tuple[Row, ...] = tuple(row for row in world.rows if row.device_id == device_id)
        if not self.rows:
            raise NotFound("receiver", device_id)
        spec = self.rows[0].receiver
        self.description = describe(self.rows)
        self.digest = digest_of(self.description)
        self.settings: dict[str, Value] = {"name": spec.name or spec.id}
        self.settings |= {extra.field: extra.value for extra in spec.extra if extra.place == "device"}
        self.silent_until_us = 0
        self._listeners: list[Listener] = []
        self._askers: dict[str, Listener] = {}
        self._boots = 0
        self._boot(0)

    # ------------------------------------------------------------ boots and time

    def _boot(self, now_us: int) -> None:
        self._boots += 1
        self.boot_id = self.world.luck.word(f"boot {self._boots} of {self.device_id}")
        self._booted_us = now_us
        self._booted_block = self.world.blocks_done
        self._revisions = dict.fromkeys(self.addresses(), 1)
        self._memory = CommandMemory()
        self._pace = Pace()
        self._waiting: dict[str, WaitingWrite] = {}
        self._askers.clear()

    def reboot(self, now_us: int) -> None:
        """Restart: settings stay, revisions and commands under way are lost, and it takes two seconds."""
        for row in self.rows:
            self.world.links[row.index].forget()
        self._boot(now_us)
        self.silent_until_us = max(self.silent_until_us, now_us + RESTART_US)
        for listener in list(self._listeners):
            listener.hang_up()
        self._listeners.clear()

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
        for row in self.rows:
            link = self.world.links[row.index]
            for news in link.take_news():
                self._take(row, news)
            if self._waiting and not link.known.asleep:
                self._send_waiting(row, link, now_us)

    def _take(self, row: Row, news: News) -> None:
        match news:
            case Delivered(command_id, changes):
                self._changed(row.pack, Cause.COMMAND, changes, command_id)
                self._ended(Outcome(command_id, "done"))
            case Declined(command_id):
                self._ended(Outcome(command_id, "refused", "the pack is asleep"))
            case Undelivered(command_id):
                self._ended(Outcome(command_id, "unknown", "the pack did not reply"))
            case Noticed(changes):
                self._changed(row.pack, Cause.PACK, changes)

    def _send_waiting(self, row: Row, link: ReturnLink, now_us: int) -> None:
        due = [write for write in self._waiting.values() if write.row == row.index]
        for write in due:
            if link.full:
                return  # The rest goes with one of the next blocks.
            del self._waiting[write.command_id]
            if any(link.known_settings[name] != value for name, value in write.seen.items()):
                self._ended(Outcome(write.command_id, "refused", "the pack was set otherwise while it slept"))
            else:
                link.send(write.command_id, write.changes, now_us)

    # ------------------------------------------------------------ listeners

    @property
    def listeners(self) -> tuple[Listener, ...]:
        """Who is told the news."""
        return tuple(self._listeners)

    def listen(self, listener: Listener) -> None:
        """Tell this conversation all news from now on."""
        self._listeners.append(listener)

    def forget(self, listener: Listener) -> None:
        """Tell it nothing any more."""
        if listener in self._listeners:
            self._listeners.remove(listener)
        self._askers = {command_id: asker for command_id, asker in self._askers.items() if asker is not listener}

    def _ended(self, outcome: Outcome) -> None:
        self._askers.pop(outcome.command_id, None)
        for listener in self._listeners:
            listener.hear(outcome)

    def _changed(self, address: str, cause: Cause, changes: Mapping[str, Value], command_id: str = "") -> None:
        """Tell of a change; that a command made it is news of another client's to all but the one that asked."""
        self._revisions[address] += 1
        news = Changed(address, self.revision(address), cause, dict(changes), command_id)
        others = Changed(address, news.revision, Cause.OTHER_CLIENT, news.settings, command_id)
        asker = self._askers.get(command_id)
        for listener in self._listeners:
            listener.hear(others if cause is Cause.COMMAND and listener is not asker else news)

    # ------------------------------------------------------------ settings

    def addresses(self) -> list[str]:
        """Everything of it that has settings."""
        parts = [address for row in self.rows for address in (row.carrier, row.channel, row.pack)]
        return [self.device_id, *parts]

    def revision(self, address: str) -> str:
        """The revision of an address within this boot."""
        return f"{self.boot_id}.{self._revisions[address]}"

    def known_settings(self, address: str) -> dict[str, Value]:
        """The settings of an address as the receiver knows them: of a pack, as last told by the return link."""
        for row in self.rows:
            if address == row.pack:
                return self.world.links[row.index].known_settings
        return self._own_settings(address)

    def _own_settings(self, address: str) -> dict[str, Value]:
        for row in self.rows:
            front = self.world.fronts[row.index]
            if address == row.carrier:
                return front.carrier
            if address == row.channel:
                return front.channel
        return self.settings

    def entry(self, address: str) -> SettingsEntry:
        """All settings of an address with their revision."""
        vouched = self.why_unreadable(address) is None
        return SettingsEntry(address, self.revision(address), dict(self.known_settings(address)), 1 if vouched else 2)

    def why_unreadable(self, address: str) -> Refused | None:
        """Why a pack's settings can't be told for certain now, or None when they can."""
        row = self._row_of_pack(address)
        if row is None:
            return None
        link = self.world.links[row.index]
        if link.busy:
            return Refused(ErrorCode.BUSY, "a request to the pack is under way", {"retry_after_s": BUSY_RETRY_S})
        if any(write.row == row.index for write in self._waiting.values()):
            return Refused(ErrorCode.BUSY, "a write waits for the pack to wake", {"retry_after_s": BUSY_RETRY_S})
        if not link.reachable:
            return Refused(ErrorCode.UNREACHABLE, "the return link brings no reply from the pack")
        return None

    def _row_of_pack(self, address: str) -> Row | None:
        return next((row for row in self.rows if row.pack == address), None)

    # ------------------------------------------------------------ commands

    def write(self, request: Write, now_us: int, asker: Listener) -> Reply:
        """Take a write or refuse it; what becomes of it is published. A repeated command id changes nothing."""
        remembered = self._memory.recall(request.command_id, now_us)
        if remembered is not None:
            return remembered
        refusal = self._problem_with(request)
        answer = refusal if refusal is not None else self._carry_out(request, now_us, asker)
        if not (isinstance(answer, Refused) and answer.code is ErrorCode.BUSY):  # Who is told to come back may.
            self._memory.remember(request.command_id, answer, now_us)
        return answer

    def _problem_with(self, request: Write) -> Refused | None:
        address = request.target
        if address not in self._revisions:
            return Refused(ErrorCode.UNSUPPORTED, f"nothing here has settings at {address}")
        try:
            self._checked(address, request.changes)
        except ValueRefused as error:
            data = {"field": error.field, "reason": error.reason, "allowed": error.allowed}
            return Refused(ErrorCode.OUT_OF_RANGE, str(error), data)
        except InvalidRequest as error:
            return Refused(ErrorCode.UNSUPPORTED, str(error))
        if request.revision != self.revision(address):
            data = {"revision": self.revision(address), "settings": dict(self.known_settings(address))}
            return Refused(ErrorCode.CONFLICT, f"{address}: {request.revision} is not the current revision", data)
        return None

    def _checked(self, address: str, changes: Mapping[str, Value]) -> dict[str, Value]:
        """The changes as the device keeps them.

        Raises ValueRefused for a value that can't be, InvalidRequest for a field that isn't there.
        """
        checked: dict[str, Value] = {}
        for field, value in changes.items():
            capability = find_capability(self.description, address, field)
            if capability is None:
                raise InvalidRequest(f"{address} has no setting {field}")
            problem = problem_of(capability, value)
            if problem is not None:
                raise ValueRefused(address, field, problem, allowed(capability))
            checked[field] = as_held(capability, value)
        return checked

    def _carry_out(self, request: Write, now_us: int, asker: Listener) -> Reply:
        changes = self._checked(request.target, request.changes)
        row = self._row_of_pack(request.target)
        if row is not None and self._must_wait(row, changes):
            return self._keep(row, request.command_id, changes, asker)
        refusal = self._too_soon(request.target, changes, now_us)
        if refusal is not None:
            return refusal
        if row is not None and self.world.links[row.index].busy:
            return Refused(ErrorCode.BUSY, "a request to the pack is under way", {"retry_after_s": BUSY_RETRY_S})
        self._pace.note(request.target, changes, now_us)
        self._askers[request.command_id] = asker
        if row is not None:
            self.world.links[row.index].send(request.command_id, changes, now_us)
            return Taken("accepted")
        self._set_own(request.target, changes)
        self._changed(request.target, Cause.COMMAND, changes, request.command_id)
        self._ended(Outcome(request.command_id, "done"))
        return Taken("accepted")

    def _too_soon(self, address: str, changes: Mapping[str, Value], now_us: int) -> Refused | None:
        """A refusal of what comes faster than the capabilities allow."""
        found = {field: find_capability(self.description, address, field) for field in changes}
        intervals_us = {field: each.fastest_interval_ms * 1_000 for field, each in found.items() if each is not None}
        wait_us = self._pace.wait_us(address, intervals_us, now_us)
        if wait_us == 0:
            return None
        return Refused(ErrorCode.BUSY, "these settings were written just now", {"retry_after_s": wait_us / 1e6})

    def _must_wait(self, row: Row, changes: Mapping[str, Value]) -> bool:
        return self.world.links[row.index].known.asleep and "standby" not in changes

    def _keep(self, row: Row, command_id: str, changes: Mapping[str, Value], asker: Listener) -> Reply:
        """Keep a write until its pack wakes; what only waits may be written over at any rate."""
        if len(self._waiting) >= WAITING_MAXIMUM:
            return Refused(ErrorCode.BUSY, "too many writes wait for packs to wake", {"retry_after_s": BUSY_RETRY_S})
        self._supersede_waiting(row, changes)
        known = self.world.links[row.index].known_settings
        self._waiting[command_id] = WaitingWrite(
            command_id, row.index, changes, {name: known[name] for name in changes}
        )
        self._askers[command_id] = asker
        return Taken("waiting for wake")

    def _supersede_waiting(self, row: Row, changes: Mapping[str, Value]) -> None:
        """A newer write takes the place of those that wait with the same settings."""
        for write in [each for each in self._waiting.values() if each.row == row.index]:
            if set(write.changes) <= set(changes):
                del self._waiting[write.command_id]
                self._ended(Outcome(write.command_id, "cancelled", "a newer write took its place"))

    def cancel(self, command_id: str) -> bool:
        """Give up a write that waits for its pack to wake; whether there was one."""
        if self._waiting.pop(command_id, None) is None:
            return False
        self._ended(Outcome(command_id, "cancelled"))
        return True

    def _set_own(self, address: str, changes: Mapping[str, Value]) -> None:
        self._own_settings(address).update(changes)
        self.world.touch()

    def turn_panel(self, address: str, changes: Mapping[str, Value]) -> None:
        """Somebody sets the receiver at its front, or a pack in their hand.

        Raises NotFound for an address that isn't here, InvalidRequest for a setting or value that isn't possible.
        """
        if address not in self._revisions:
            raise NotFound("address", address)
        checked = self._checked(address, changes)
        row = self._row_of_pack(address)
        if row is not None:
            set_pack(self.world, row.index, checked)
            return
        self._set_own(address, checked)
        self._changed(address, Cause.PANEL, checked)
