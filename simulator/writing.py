"""Writes to a device: taken, refused, carried out or kept, and what becomes of them told to everybody."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.errors import InvalidRequest, NotFound, ValueRefused
from fleet.model.fields import Value
from fleet.model.settings import Cause
from fleet.protocol.codes import ErrorCode
from fleet.protocol.messages import Changed, Outcome, Write
from simulator.audience import Audience, Listener
from simulator.board import Board
from simulator.gear import Gear
from simulator.pack_control import PackControl
from simulator.return_link import Declined, Delivered, News, Noticed, Undelivered, Withdrawn
from simulator.world import World, set_pack
from simulator.writes import CommandMemory, Pace, Refused, Reply, Taken


@dataclass(frozen=True, slots=True)
class Parts:
    """What the writes and acts of one boot of a device work on."""

    world: World
    gear: Gear
    packs: PackControl
    board: Board
    audience: Audience


class Writing:
    """The writes of one boot."""

    def __init__(self, parts: Parts) -> None:
        self._parts = parts
        self._memory = CommandMemory()
        self._pace = Pace()

    # ------------------------------------------------------------ what a client asks

    def write(self, request: Write, now_us: int, asker: Listener, why_not: Refused | None = None) -> Reply:
        """Take a write or refuse it; what becomes of it is published. A repeated command id changes nothing.

        ``why_not`` is why this client may not write now; it may again later, so that answer is not kept.
        """
        remembered = self._memory.recall(request.command_id, now_us)
        if remembered is not None:
            return remembered
        if why_not is not None:
            return why_not
        refusal = self._problem_with(request)
        answer = refusal if refusal is not None else self._carry_out(request, now_us, asker)
        if not (isinstance(answer, Refused) and answer.code is ErrorCode.BUSY):  # Who is told to come back may.
            self._memory.remember(request.command_id, answer, now_us)
        return answer

    def _problem_with(self, request: Write) -> Refused | None:
        board, address = self._parts.board, request.target
        if address not in board.addresses():
            return Refused(ErrorCode.UNSUPPORTED, f"nothing here has settings at {address}")
        try:
            board.checked(address, request.changes)
        except ValueRefused as error:
            data = {"field": error.field, "reason": error.reason, "allowed": error.allowed}
            return Refused(ErrorCode.OUT_OF_RANGE, str(error), data)
        except InvalidRequest as error:
            return Refused(ErrorCode.UNSUPPORTED, str(error))
        if request.revision != board.revision(address):
            data = {"revision": board.revision(address), "settings": board.settings(address)}
            return Refused(ErrorCode.CONFLICT, f"{address}: {request.revision} is not the current revision", data)
        return None

    def _carry_out(self, request: Write, now_us: int, asker: Listener) -> Reply:
        parts, address = self._parts, request.target
        changes = parts.board.checked(address, request.changes)
        is_pack = address in parts.packs.seats
        by_hand = is_pack and parts.board.needs_hand(address, changes)
        if by_hand or (is_pack and parts.packs.must_wait(address, changes)):
            parts.audience.asked(request.command_id, asker)
            kept = parts.packs.keep(address, request.command_id, changes, for_hand=by_hand)
            self.take_news(parts.packs.take_news())
            return kept
        refusal = self._too_soon(address, changes, now_us)
        if refusal is not None:
            return refusal
        if is_pack:
            reply = parts.packs.send(address, request.command_id, changes, now_us)
            if isinstance(reply, Refused):
                return reply
        self._pace.note(address, changes, now_us)
        parts.audience.asked(request.command_id, asker)
        if not is_pack:
            self._set_willing(request.command_id, address, changes)
        return Taken("accepted")

    def _set_willing(self, command_id: str, address: str, changes: Mapping[str, Value]) -> None:
        """Set what the device takes of its own; what it refuses all the same is told field by field."""
        refused = {field: self._parts.gear.hindrance(address, changes, field) for field in changes}
        refused = {field: reason for field, reason in refused.items() if reason}
        taken = {field: value for field, value in changes.items() if field not in refused}
        if taken:
            self._set_own(address, taken, Cause.COMMAND, command_id)
        if not refused:
            outcome = Outcome(command_id, "done")
        elif taken:
            outcome = Outcome(command_id, "partly done", refused_fields=refused)
        else:
            outcome = Outcome(command_id, "refused", next(iter(refused.values())), refused)
        self._parts.audience.ended(outcome)

    def _too_soon(self, address: str, changes: Mapping[str, Value], now_us: int) -> Refused | None:
        """A refusal of what comes faster than the capabilities allow."""
        found = {field: self._parts.board.capability(address, field) for field in changes}
        intervals_us = {field: each.fastest_interval_ms * 1_000 for field, each in found.items() if each is not None}
        wait_us = self._pace.wait_us(address, intervals_us, now_us)
        if wait_us == 0:
            return None
        return Refused(ErrorCode.BUSY, "these settings were written just now", {"retry_after_s": wait_us / 1e6})

    def cancel(self, command_id: str) -> bool:
        """Give up a write that waits; whether there was one."""
        cancelled = self._parts.packs.cancel(command_id)
        self.take_news(self._parts.packs.take_news())
        return cancelled

    # ------------------------------------------------------------ what comes of it

    def advance(self, now_us: int) -> None:
        """Take in what came over the return links."""
        self.take_news(self._parts.packs.advance(now_us))

    def take_news(self, news: list[tuple[str, News]]) -> None:
        """Publish what became known of packs."""
        for address, each in news:
            self._take(address, each)

    def _take(self, address: str, news: News) -> None:
        match news:
            case Delivered(command_id, changes):
                self._changed(address, Cause.COMMAND, changes, command_id)
                self._parts.audience.ended(Outcome(command_id, "done"))
            case Declined(command_id, reason):
                self._parts.audience.ended(Outcome(command_id, "refused", reason))
            case Undelivered(command_id):
                self._parts.audience.ended(Outcome(command_id, "unknown", "the pack did not reply"))
            case Withdrawn(command_id, reason):
                self._parts.audience.ended(Outcome(command_id, "cancelled", reason))
            case Noticed(changes):
                self._changed(address, Cause.PACK, changes)

    def _changed(self, address: str, cause: Cause, changes: Mapping[str, Value], command_id: str = "") -> None:
        revision = self._parts.board.raise_revision(address)
        self._parts.audience.changed(Changed(address, revision, cause, dict(changes), command_id))

    def _set_own(self, address: str, changes: Mapping[str, Value], cause: Cause, command_id: str = "") -> None:
        """Set something of the device itself; what hangs on it may appear, or move to a value it can take."""
        parts = self._parts
        before = parts.board.all_settings() if parts.board.conditional else {}
        parts.gear.settings[address].update(changes)
        for other, field, value in list(parts.board.unfit()):
            if other in parts.gear.settings:
                parts.gear.settings[other][field] = value
                parts.gear.applied(other)
        parts.gear.applied(address)
        parts.world.touch()
        self._changed(address, cause, {**changes, **self._appeared(address, before)}, command_id)
        for other in before:
            moved = {} if other == address else self._appeared(other, before)
            if moved:
                self._changed(other, Cause.UNKNOWN, moved)

    def _appeared(self, address: str, before: Mapping[str, dict[str, Value]]) -> dict[str, Value]:
        """The settings of an address that are there now and weren't, or have another value."""
        earlier = before.get(address)
        if earlier is None:
            return {}
        now = self._parts.board.settings(address)
        return {field: value for field, value in now.items() if field not in earlier or earlier[field] != value}

    def turn_panel(self, address: str, changes: Mapping[str, Value]) -> None:
        """Somebody sets the device at its front, or a pack in their hand.

        Raises NotFound for an address that isn't here, InvalidRequest for a setting or value that isn't possible.
        """
        if address not in self._parts.board.addresses():
            raise NotFound("address", address)
        checked = self._parts.board.checked(address, changes, by_hand=True)
        seat = self._parts.packs.seats.get(address)
        lock = "panel_locked" if seat is None else "locked"
        device_id = self._parts.board.addresses()[0]
        held = self._parts.gear.settings[device_id] if seat is None else self._parts.world.packs[seat.index].settings
        if held.get(lock) and checked.get(lock) is not False:
            raise InvalidRequest(f"{address}: its keys are locked")
        if seat is not None:
            set_pack(self._parts.world, seat.index, checked)
            return
        self._set_own(address, checked, Cause.PANEL)
