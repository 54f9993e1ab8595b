"""The shapes of device protocol 1.0: parameters, results and notifications as they travel.

All are frozen msgspec structs. Members that a peer adds are ignored, missing ones are refused unless they have a
default. Integers fit a double exactly, so that any JSON reader keeps them. Times are microseconds of the device's own
monotonic clock.
"""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from fleet.ids import ADDRESS_PATTERN, COMMAND_ID_PATTERN, ID_PATTERN, NAME_PATTERN
from fleet.model.device import DeviceDescription
from fleet.model.settings import Cause

SUBPROTOCOL = "redpoll.device.1"
VERSIONS = ("1.0",)
EXACT_INTEGER_MAXIMUM = 2**53 - 1
"""The greatest integer that every JSON reader keeps (RFC 8259, section 6)."""

_END = "$(?!\n)"
Address = Annotated[str, Meta(pattern=f"^{ADDRESS_PATTERN}{_END}")]
DeviceId = Annotated[str, Meta(pattern=f"^{ID_PATTERN}{_END}")]
Name = Annotated[str, Meta(pattern=f"^{NAME_PATTERN}{_END}")]
BootId = Annotated[str, Meta(pattern=f"^[A-Za-z0-9_-]{{1,64}}{_END}")]
Revision = Annotated[str, Meta(pattern=rf"^[A-Za-z0-9_-]{{1,64}}\.[0-9]{{1,16}}{_END}")]
CommandId = Annotated[str, Meta(pattern=f"^{COMMAND_ID_PATTERN}{_END}")]
Version = Annotated[str, Meta(pattern=rf"^[0-9]{{1,4}}\.[0-9]{{1,4}}{_END}")]
Digest = Annotated[str, Meta(min_length=1, max_length=128)]
Words = Annotated[str, Meta(max_length=1024)]
Label = Annotated[str, Meta(max_length=128)]
Count = Annotated[int, Meta(ge=0, le=EXACT_INTEGER_MAXIMUM)]
Exact = Annotated[int, Meta(ge=-EXACT_INTEGER_MAXIMUM, le=EXACT_INTEGER_MAXIMUM)]
Setting = bool | Exact | float | Annotated[str, Meta(max_length=4096)]
Settings = dict[Name, Setting]
ExactReadings = dict[Address, dict[Name, Setting | None]]
IntervalMs = Annotated[int, Meta(ge=20, le=3_600_000)]
QualityCode = Annotated[int, Meta(ge=0, le=3)]


# ---------------------------------------------------------------- requests, console to device


class Hello(msgspec.Struct, frozen=True):
    """The first request: which versions the console speaks, and what it calls itself."""

    target: Literal[""]
    versions: Annotated[list[Version], Meta(min_length=1, max_length=16)]
    client: Label


class Describe(msgspec.Struct, frozen=True):
    """Asks a device for its description in full."""

    target: DeviceId


class Read(msgspec.Struct, frozen=True):
    """Asks for settings and exact readings of one address; a device id means all that the device controls."""

    target: Address


class Write(msgspec.Struct, frozen=True):
    """Asks for settings of one thing to change, all seen at ``revision``.

    The same ``command_id`` again within ten minutes has the same answer and no second effect.
    """

    target: Address
    command_id: CommandId
    revision: Revision
    changes: Annotated[Settings, Meta(min_length=1)]


class Cancel(msgspec.Struct, frozen=True):
    """Gives up a write that waits, or an act."""

    target: Address
    command_id: CommandId


class Act(msgspec.Struct, frozen=True):
    """Asks for something to be done that is no setting. No act is defined in version 1.0 yet."""

    target: Address
    command_id: CommandId
    act: Name
    arguments: Settings = {}


class Subscribe(msgspec.Struct, frozen=True):
    """Asks for readings every ``interval_ms``."""

    target: DeviceId
    interval_ms: IntervalMs


class Unsubscribe(msgspec.Struct, frozen=True):
    """Ends a subscription; no frame of it follows the answer."""

    target: DeviceId
    subscription: Count


# ---------------------------------------------------------------- results, device to console


class DeviceSummary(msgspec.Struct, frozen=True):
    """One device behind the connection. ``digest`` changes whenever its description does."""

    id: DeviceId
    kind: Label
    form: Label
    simulated: bool
    digest: Digest


class HelloResult(msgspec.Struct, frozen=True):
    """The version in force, the boot of the device and what stands behind the connection."""

    version: Version
    boot_id: BootId
    read_only: bool
    devices: Annotated[list[DeviceSummary], Meta(min_length=1, max_length=4096)]
    device_time_us: Count


class DescribeResult(msgspec.Struct, frozen=True):
    """The device's description, its capabilities in full."""

    description: DeviceDescription
    device_time_us: Count


class SettingsEntry(msgspec.Struct, frozen=True, omit_defaults=True):
    """All settings of one address and their revision, ``boot.number``.

    ``quality`` is 2, uncertain, when the device repeats what it knew last and can't vouch for it now.
    """

    address: Address
    revision: Revision
    settings: Settings
    quality: Literal[1, 2] = 1


class ReadResult(msgspec.Struct, frozen=True):
    """Settings and exact readings as the device holds them; null is absent."""

    settings: list[SettingsEntry]
    exact: ExactReadings
    device_time_us: Count


class WriteResult(msgspec.Struct, frozen=True):
    """The write was taken; what becomes of it follows as ``changed`` and ``outcome``."""

    state: Literal["accepted", "waiting for wake", "waiting for a hand"]
    device_time_us: Count


class CancelResult(msgspec.Struct, frozen=True):
    """Whether there was something left to cancel."""

    cancelled: bool
    device_time_us: Count


class ActResult(msgspec.Struct, frozen=True):
    """The act was taken."""

    state: Literal["accepted", "waiting for wake", "waiting for a hand"]
    device_time_us: Count


class LayoutEntry(msgspec.Struct, frozen=True):
    """The readings of one address, in the order in which their values stand in a frame."""

    address: Address
    readings: Annotated[list[Name], Meta(min_length=1, max_length=256)]


class SubscribeResult(msgspec.Struct, frozen=True):
    """The subscription, the interval the device grants, and the order of the values in its frames."""

    subscription: Count
    interval_ms: IntervalMs
    layout: list[LayoutEntry]
    device_time_us: Count


class UnsubscribeResult(msgspec.Struct, frozen=True):
    """The subscription has ended."""

    device_time_us: Count


# ---------------------------------------------------------------- notifications, device to console


class Readings(msgspec.Struct, frozen=True, omit_defaults=True, gc=False):
    """One frame: ``values`` flat in layout order, null absent, a coded reading as the number of its choice.

    ``qualities`` gives the quality code of those values that aren't simply good or absent, by index. ``exact`` holds
    readings that are text or exact integers, those that changed since the frame before, all of them in the first.
    """

    subscription: Count
    sequence: Count
    device_time_us: Count
    values: list[float | bool | None]
    qualities: dict[Count, QualityCode] = {}
    exact: ExactReadings = {}


class Changed(msgspec.Struct, frozen=True, omit_defaults=True):
    """Settings of one address changed; only those that did."""

    address: Address
    revision: Revision
    cause: Cause
    settings: Settings
    command_id: CommandId | Literal[""] = ""


class Outcome(msgspec.Struct, frozen=True, omit_defaults=True):
    """What became of a command. A ``changed`` with the same command id comes before a ``done``."""

    command_id: CommandId
    outcome: Literal["done", "refused", "partly done", "cancelled", "unknown"]
    reason: Words = ""
    refused_fields: dict[Name, Words] = {}


class Described(msgspec.Struct, frozen=True):
    """The description changed; ask for it again."""

    digest: Digest


class Notice(msgspec.Struct, frozen=True):
    """Something to be said to people: a code for programs, and words."""

    code: Label
    words: Words


class Heartbeat(msgspec.Struct, frozen=True):
    """Every second. ``counter`` comes from the loop that measures, so a frozen device can't look alive."""

    device_time_us: Count
    boot_id: BootId
    counter: Count


RequestParams = Hello | Describe | Read | Write | Cancel | Act | Subscribe | Unsubscribe
ResultBody = (
    HelloResult
    | DescribeResult
    | ReadResult
    | WriteResult
    | CancelResult
    | ActResult
    | SubscribeResult
    | UnsubscribeResult
)
NotificationBody = Readings | Changed | Outcome | Described | Notice | Heartbeat

REQUESTS: dict[str, type[RequestParams]] = {
    "hello": Hello,
    "describe": Describe,
    "read": Read,
    "write": Write,
    "cancel": Cancel,
    "act": Act,
    "subscribe": Subscribe,
    "unsubscribe": Unsubscribe,
}
RESULTS: dict[str, type[ResultBody]] = {
    "hello": HelloResult,
    "describe": DescribeResult,
    "read": ReadResult,
    "write": WriteResult,
    "cancel": CancelResult,
    "act": ActResult,
    "subscribe": SubscribeResult,
    "unsubscribe": UnsubscribeResult,
}
NOTIFICATIONS: dict[str, type[NotificationBody]] = {
    "readings": Readings,
    "changed": Changed,
    "outcome": Outcome,
    "described": Described,
    "notice": Notice,
    "heartbeat": Heartbeat,
}
METHOD_OF: dict[type, str] = {shape: name for name, shape in (*REQUESTS.items(), *NOTIFICATIONS.items())}
