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
MaybeAddress = Annotated[str, Meta(pattern=f"^({ADDRESS_PATTERN})?{_END}")]
MaybeDeviceId = Annotated[str, Meta(pattern=f"^({ID_PATTERN})?{_END}")]
MaybeBootId = Annotated[str, Meta(pattern=f"^([A-Za-z0-9_-]{{1,64}})?{_END}")]
MaybeCommandId = Annotated[str, Meta(pattern=f"^({COMMAND_ID_PATTERN})?{_END}")]
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
    """Asks for something to be done that is no setting, as the description's ``acts`` offer it.

    The same ``command_id`` again within ten minutes has the same answer and no second effect.
    """

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


class Lease(msgspec.Struct, frozen=True):
    """Asks to be the one client that may write to a device, or to stay it, for ``seconds``.

    ``take`` takes the lease from whoever holds it; only a person may want that.
    """

    target: DeviceId
    seconds: Annotated[int, Meta(ge=5, le=300)]
    take: bool = False


class Release(msgspec.Struct, frozen=True):
    """Gives the lease back."""

    target: DeviceId


# ---------------------------------------------------------------- results, device to console


class DeviceSummary(msgspec.Struct, frozen=True, omit_defaults=True):
    """One device behind the connection. ``digest`` changes whenever its description does.

    A gateway presents several, each with a boot of its own; an empty ``boot_id`` is the connection's. A device that
    ``leases`` takes writes and acts only from the client that holds its lease.
    """

    id: DeviceId
    kind: Label
    form: Label
    simulated: bool
    digest: Digest
    boot_id: MaybeBootId = ""
    read_only: bool = False
    leases: bool = False


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


class LeaseResult(msgspec.Struct, frozen=True):
    """Whether the lease was granted; if not, ``holder`` is whoever has it, for ``remaining_s`` at the most."""

    granted: bool
    holder: Label
    remaining_s: Annotated[float, Meta(ge=0, le=300)]
    device_time_us: Count


class ReleaseResult(msgspec.Struct, frozen=True):
    """The lease is free, or was never this client's."""

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
    command_id: MaybeCommandId = ""


class Outcome(msgspec.Struct, frozen=True, omit_defaults=True):
    """What became of a command. A ``changed`` with the same command id comes before a ``done``."""

    command_id: CommandId
    outcome: Literal["done", "refused", "partly done", "cancelled", "unknown"]
    reason: Words = ""
    refused_fields: dict[Name, Words] = {}
    result: Settings = {}


class Levels(msgspec.Struct, frozen=True, omit_defaults=True):
    """A stretch of a scan: levels at ``start_hz`` and every ``step_hz`` above it, null where nothing was measured.

    ``branch`` is the antenna input that listened. Levels that aren't ``calibrated`` tell more from less, and no more.
    """

    start_hz: Count
    step_hz: Annotated[int, Meta(ge=1, le=EXACT_INTEGER_MAXIMUM)]
    bandwidth_hz: Annotated[int, Meta(ge=1, le=EXACT_INTEGER_MAXIMUM)]
    levels_dbm: Annotated[list[float | None], Meta(min_length=1, max_length=4096)]
    branch: MaybeAddress = ""
    calibrated: bool = False


class Progress(msgspec.Struct, frozen=True, omit_defaults=True):
    """How far an act is: a share of it where that can be told, words, and what a scan has found since."""

    command_id: CommandId
    fraction: Annotated[float, Meta(ge=0, le=1)] | None = None
    words: Words = ""
    levels: Levels | None = None


class Leased(msgspec.Struct, frozen=True):
    """Another client has the lease of a device now, or nobody: ``holder`` is empty then."""

    target: DeviceId
    holder: Label


class Described(msgspec.Struct, frozen=True, omit_defaults=True):
    """The description of a device changed; ask for it again. Without a target it is that of the only device."""

    digest: Digest
    target: MaybeDeviceId = ""


class Notice(msgspec.Struct, frozen=True, omit_defaults=True):
    """Something to be said to people: a code for programs, and words. Without a target it is of the only device."""

    code: Label
    words: Words
    target: MaybeDeviceId = ""


class Heartbeat(msgspec.Struct, frozen=True, omit_defaults=True):
    """Every second. ``counter`` comes from the loop that measures, so a frozen device can't look alive.

    A gateway sends one for each device that it hears from, with that device's boot, counter and id.
    """

    device_time_us: Count
    boot_id: BootId
    counter: Count
    target: MaybeDeviceId = ""


RequestParams = Hello | Describe | Read | Write | Cancel | Act | Subscribe | Unsubscribe | Lease | Release
ResultBody = (
    HelloResult
    | DescribeResult
    | ReadResult
    | WriteResult
    | CancelResult
    | ActResult
    | SubscribeResult
    | UnsubscribeResult
    | LeaseResult
    | ReleaseResult
)
NotificationBody = Readings | Changed | Outcome | Progress | Leased | Described | Notice | Heartbeat

REQUESTS: dict[str, type[RequestParams]] = {
    "hello": Hello,
    "describe": Describe,
    "read": Read,
    "write": Write,
    "cancel": Cancel,
    "act": Act,
    "subscribe": Subscribe,
    "unsubscribe": Unsubscribe,
    "lease": Lease,
    "release": Release,
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
    "lease": LeaseResult,
    "release": ReleaseResult,
}
NOTIFICATIONS: dict[str, type[NotificationBody]] = {
    "readings": Readings,
    "changed": Changed,
    "outcome": Outcome,
    "progress": Progress,
    "leased": Leased,
    "described": Described,
    "notice": Notice,
    "heartbeat": Heartbeat,
}
METHOD_OF: dict[type, str] = {shape: name for name, shape in (*REQUESTS.items(), *NOTIFICATIONS.items())}
