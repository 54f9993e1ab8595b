"""What any kind of device must offer to be watched and set: one small interface, and the transport beneath it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from typing import Protocol

from fleet.model.command import Command
from fleet.model.fields import Value
from fleet.model.observation import Contact, Observation

Sink = Callable[[Observation | Contact], None]
"""Where facts go: synchronous, never blocking, called on the loop."""


class Transport(Protocol):
    """A connection that carries whole messages.

    Each method raises ConnectionError, saying why, once the connection has ended.
    """

    async def send(self, message: bytes) -> None:
        """Send one message; returns when the transport has taken it."""

    async def receive(self) -> bytes | str:
        """The next message. Raises MalformedMessage when the other end broke the transport's own rules."""

    async def close(self) -> None:
        """End the connection; harmless when it has ended."""


Connect = Callable[[str], Awaitable[Transport]]
"""Opens a connection to a URL; raises OSError, saying why it could not."""


class Adapter(Protocol):
    """One contact with one device, from opening to end. A new contact is a new adapter.

    Facts go to the sink it was made with. Each method but ``close`` raises ContactFailed when the contact fails and
    ProtocolError when the device breaks its protocol; every one has a deadline of its own, except ``run``.
    """

    async def connect(self) -> None:
        """Open and greet. Emits a Contact with the description, then complete reports; readings follow."""

    async def run(self) -> None:
        """Hand on what the device says until the contact ends, which raises. Emits a FRESH Contact a heartbeat."""

    async def write(self, command: Command) -> None:
        """Send a write. Answers and reports come through the sink; nothing is ever sent twice."""

    async def act(self, command: Command, secrets: Mapping[str, Value]) -> None:
        """Send an act with its secret arguments, which must be kept nowhere. Progress and answers come by the sink."""

    async def take_lease(self, device_id: str) -> None:
        """Take the lease of a device from whoever holds it; who has it then comes through the sink."""

    async def cancel(self, command: Command) -> None:
        """Ask the device to give a command up; its answer comes through the sink."""

    async def read_back(self, address: str) -> None:
        """Ask for the settings of an address; the reports, then ``read_back``, come through the sink."""

    async def close(self) -> None:
        """Drop the connection; never raises."""
