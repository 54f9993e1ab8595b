"""A console in memory: the other end of one conversation with a virtual receiver, on a time of its own."""

from __future__ import annotations

from typing import TypeVar

from fleet.model.fields import Value
from fleet.protocol import messages
from fleet.protocol.received import Received, Refusal, Result
from fleet.protocol.session import Session
from fleet.protocol.transitions import Role
from simulator.conversation import Conversation
from simulator.virtual_fleet import VirtualFleet

BLOCK_US = 100_000
Kind = TypeVar("Kind")


class Desk:
    """Speaks with one device, by itself or behind a gateway; ``heard`` is all that came, ``wire`` the bytes."""

    def __init__(
        self, fleet: VirtualFleet, device_id: str, now_us: int = 0, behind: str = "", name: str = "desk"
    ) -> None:
        self.fleet = fleet
        self.device_id = device_id
        self.name = name
        self.conversation = Conversation(fleet.endpoint(behind or device_id))
        self.now_us = now_us
        self.heard: list[Received] = []
        self.wire: list[bytes] = []
        self.layout: list[tuple[str, str]] = []
        self._session = Session(Role.CONSOLE)

    def enter(self, interval_ms: int = 100) -> Desk:
        """Greet, have described, read, subscribe."""
        self.body(self._session.hello(self.name), messages.HelloResult)
        self.body(self._session.describe(self.device_id), messages.DescribeResult)
        self.body(self._session.read(self.device_id), messages.ReadResult)
        granted = self.body(self._session.subscribe(self.device_id, interval_ms), messages.SubscribeResult)
        self.layout = [(entry.address, reading) for entry in granted.layout for reading in entry.readings]
        return self

    def take(self, sent: list[bytes]) -> None:
        """Hear what the receiver says."""
        self.wire += sent
        for data in sent:
            self.heard += self._session.receive(data)

    def say(self, data: str | bytes) -> None:
        """Say anything."""
        self.take(self.conversation.receive(data, self.now_us))

    def answer(self, request_id: int) -> Result | Refusal:
        """Send what waits and find the answer to that request."""
        for data in self._session.outgoing():
            self.say(data)
        return next(
            item
            for item in reversed(self.heard)
            if isinstance(item, Result | Refusal) and item.request_id == request_id
        )

    def body(self, request_id: int, kind: type[Kind]) -> Kind:
        """The body of the good answer to that request."""
        answer = self.answer(request_id)
        assert isinstance(answer, Result), answer
        assert isinstance(answer.body, kind)
        return answer.body

    def advance(self, seconds: float) -> None:
        """Let time pass, a block at a time."""
        end_us = self.now_us + round(seconds * 1_000_000)
        while self.now_us < end_us:
            self.now_us += BLOCK_US
            self.fleet.advance(self.now_us)
            self.take(self.conversation.advance(self.now_us))

    def settings(self, address: str) -> dict[str, Value]:
        """The settings of one address as read now."""
        return self.body(self._session.read(address), messages.ReadResult).settings[0].settings

    def read(self, address: str) -> Result | Refusal:
        """The answer to reading an address."""
        return self.answer(self._session.read(address))

    def revision(self, address: str) -> str:
        """The revision of an address as a read of the whole device gives it."""
        whole = self.body(self._session.read(self.device_id), messages.ReadResult)
        return next(entry.revision for entry in whole.settings if entry.address == address)

    def write(
        self, address: str, command_id: str, revision: str | None = None, **changes: Value
    ) -> messages.WriteResult | Refusal:
        """Write with the current revision, or the one that is given."""
        seen = self.revision(address) if revision is None else revision
        answer = self.answer(self._session.write(address, command_id, seen, changes))
        if isinstance(answer, Refusal):
            return answer
        assert isinstance(answer.body, messages.WriteResult)
        return answer.body

    def cancel(self, address: str, command_id: str) -> bool:
        """Cancel a command."""
        return self.body(self._session.cancel(address, command_id), messages.CancelResult).cancelled

    def act(self, address: str, command_id: str, act: str, **arguments: Value) -> messages.ActResult | Refusal:
        """Ask for an act."""
        answer = self.answer(self._session.act(address, command_id, act, arguments))
        if isinstance(answer, Refusal):
            return answer
        assert isinstance(answer.body, messages.ActResult)
        return answer.body

    def lease(self, seconds: int = 30, *, take: bool = False) -> messages.LeaseResult:
        """Ask for the lease."""
        return self.body(self._session.lease(self.device_id, seconds, take=take), messages.LeaseResult)

    def release(self) -> None:
        """Give the lease back."""
        self.body(self._session.release(self.device_id), messages.ReleaseResult)

    def subscribe(self) -> Result | Refusal:
        """One more subscription."""
        return self.answer(self._session.subscribe(self.device_id, 100))

    def unsubscribe(self, number: int) -> Result | Refusal:
        """End a subscription."""
        return self.answer(self._session.unsubscribe(self.device_id, number))

    def all(self, kind: type[Kind]) -> list[Kind]:
        """Everything of that kind that was heard."""
        return [item for item in self.heard if isinstance(item, kind)]

    def series(self, address: str, reading: str) -> list[float | None]:
        """One reading over all frames."""
        index = self.layout.index((address, reading))
        return [frame.values[index] for frame in self.all(messages.Readings)]

    def last(self, address: str, reading: str) -> float | None:
        """One reading as of the last frame."""
        return self.series(address, reading)[-1]

    def exact(self, address: str, reading: str) -> object:
        """An exact reading as last told."""
        told = [frame.exact[address][reading] for frame in self.all(messages.Readings) if address in frame.exact]
        return told[-1]
