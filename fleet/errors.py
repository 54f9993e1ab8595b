"""Every error that Redpoll raises on purpose.

::

    RedpollError
    ├── InvalidDocument        a scenario, production, rule or configuration document is wrong
    ├── NotFound               nothing has that address or id
    ├── InvalidRequest         a request asks for what can't be done as asked
    │   ├── ValueRefused       a value is out of range, off its step or of the wrong kind
    │   ├── CommandIdReused    a command's id was used for something else within ten minutes
    │   ├── ZoneHeld           another person writes in the zone that this is about
    │   ├── RevisionMissing    a write did not say which revision it saw
    │   └── RevisionStale      a write saw a revision that is no longer current
    ├── NotPermitted           the person's roles don't reach this
    ├── LimitReached           a bound was met; says which
    ├── ProtocolError          the other end broke the device protocol
    │   ├── MalformedMessage   bytes that aren't a message
    │   ├── VersionMismatch    the two ends share no major version
    │   ├── UnexpectedMessage  a message that this state doesn't allow
    │   ├── SomeoneElse        another device answers than the one that was called, or one of the other kind
    │   └── DamagedTrace       a recorded session that can't be read to its end
    ├── DeviceRefusal          the device answered with an error; carries its code
    ├── ContactFailed          a connection could not be made or was lost
    ├── JournalUnavailable     the journal can't be written or read
    └── PortTaken              a named port is in use

Each carries fields, not a formatted sentence alone, so that the API and the screen can word it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence


class RedpollError(Exception):
    """The root of the tree."""


class InvalidDocument(RedpollError):
    """A document is wrong at one key; nothing of it was applied."""

    def __init__(self, file: str, key: str, expected: str, found: object = None) -> None:
        self.file = file
        self.key = key
        self.expected = expected
        self.found = found
        seen = "" if found is None else f", found {found!r}"
        super().__init__(f"{file}: {key}: expected {expected}{seen}")


class NotFound(RedpollError):
    """Nothing has that address or id."""

    def __init__(self, thing: str, name: str) -> None:
        self.thing = thing
        self.name = name
        super().__init__(f"there is no {thing} named {name!r}")


class InvalidRequest(RedpollError):
    """A request asks for what can't be done as asked."""


class ValueRefused(InvalidRequest):
    """A value is out of range, off its step or of the wrong kind; nothing was sent."""

    def __init__(self, address: str, field: str, reason: str, allowed: Mapping[str, object]) -> None:
        self.address = address
        self.field = field
        self.reason = reason
        self.allowed = dict(allowed)
        super().__init__(f"{address}: {field}: {reason}")


class CommandIdReused(InvalidRequest):
    """A command's id was used for something else within ten minutes; nothing was done."""

    def __init__(self, command_id: str) -> None:
        self.command_id = command_id
        super().__init__(f"the command id {command_id} was used for something else; choose a new one")


class ZoneHeld(InvalidRequest):
    """Another person writes in the zone that this is about; nothing was done."""

    def __init__(self, zone: str, person: str) -> None:
        self.zone = zone
        self.person = person
        super().__init__(f"{person} writes in {zone}; ask them to offer it, or an engineer takes it by force")


class RevisionMissing(InvalidRequest):
    """A write did not say which revision it saw."""

    def __init__(self, address: str) -> None:
        self.address = address
        super().__init__(f"{address}: the write names no revision; read the settings and send If-Match")


class RevisionStale(InvalidRequest):
    """A write saw a revision that is no longer current; nothing was sent."""

    def __init__(self, address: str, seen: str, current: str, values: Mapping[str, object]) -> None:
        self.address = address
        self.seen = seen
        self.current = current
        self.values = dict(values)
        super().__init__(f"{address}: revision {seen} is no longer current, {current} is")


class NotPermitted(RedpollError):
    """The person's roles don't reach this."""

    def __init__(self, needed: str) -> None:
        self.needed = needed
        super().__init__(f"this needs the role {needed}")


class LimitReached(RedpollError):
    """A bound was met."""

    def __init__(self, limit: str, bound: int) -> None:
        self.limit = limit
        self.bound = bound
        super().__init__(f"{limit} is limited to {bound}")


class ProtocolError(RedpollError):
    """The other end broke the device protocol."""


class MalformedMessage(ProtocolError):
    """Bytes that aren't a message: not JSON, too deep, too large, not finite, of the wrong shape."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(reason)


class VersionMismatch(ProtocolError):
    """The two ends share no major version."""

    def __init__(self, ours: Sequence[str], theirs: Sequence[str]) -> None:
        self.ours = tuple(ours)
        self.theirs = tuple(theirs)
        super().__init__(f"no common protocol version: we speak {', '.join(ours)}, the device {', '.join(theirs)}")


class UnexpectedMessage(ProtocolError):
    """A message that this state doesn't allow."""

    def __init__(self, message: str, state: str) -> None:
        self.message = message
        self.state = state
        super().__init__(f"{message} is not allowed while {state}")


class SomeoneElse(ProtocolError):
    """What answers isn't what the device list says; ``found`` is the id that it gives itself."""

    def __init__(self, found: str, reason: str) -> None:
        self.found = found
        self.reason = reason
        super().__init__(f"someone else is here: {reason}")


class DamagedTrace(ProtocolError):
    """A recorded session is damaged or breaks off at one line; what came before it was good."""

    def __init__(self, file: str, line: int, reason: str) -> None:
        self.file = file
        self.line = line
        self.reason = reason
        super().__init__(f"{file}: line {line}: {reason}")


class DeviceRefusal(RedpollError):
    """The device answered a request with an error."""

    def __init__(self, code: str, reason: str) -> None:
        self.code = code
        self.reason = reason
        super().__init__(f"{code}: {reason}")


class ContactFailed(RedpollError):
    """A connection could not be made or was lost."""

    def __init__(self, device_id: str, reason: str) -> None:
        self.device_id = device_id
        self.reason = reason
        super().__init__(f"{device_id}: {reason}")


class JournalUnavailable(RedpollError):
    """The journal can't be written or read."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(f"the journal is not available: {reason}")


class PortTaken(RedpollError):
    """A named port is in use."""

    def __init__(self, port: int) -> None:
        self.port = port
        super().__init__(f"port {port} is in use; choose another with --port or leave it out to have a free one chosen")
