"""One event of every kind, with every member set, all from the demonstration production."""

from __future__ import annotations

from dataclasses import replace

from fleet.model.alarm import Alarm, AlarmState
from fleet.model.capability import ActCapability, Argument, Capability, Condition, Held, SchemaType, ValueSchema
from fleet.model.command import Command, CommandState, FieldOutcome
from fleet.model.device import (
    CarrierDescription,
    ChannelDescription,
    ContactState,
    ContactStatus,
    DeviceDescription,
    Lease,
    OutputDescription,
    Unlocked,
)
from fleet.model.event import (
    AlarmChanged,
    CommandChanged,
    ConsoleStarted,
    ContactChanged,
    DeviceDescribed,
    DocumentApplied,
    Event,
    GuardChanged,
    JournalGap,
    LeaseChanged,
    NoticeReceived,
    Recorded,
    SettingsChanged,
    ShowMoved,
)
from fleet.model.moment import Moment
from fleet.model.retune import RetuneState, RetuneStep, RetuneWrite, StepKind, StepState
from fleet.model.retune_event import RetuneChanged
from fleet.model.settings import Cause
from fleet.model.show import CueStart, ShowPhase, ShowPlace, ShowStep
from tests.journal.people_samples import PEOPLE_EVENTS

AT = Moment(81_000_000, 1_760_000_000_123_456)

COMMAND = Command(
    command_id="c-17",
    target="pack/k17",
    device_id="quay-1",
    changes={"low_cut_hz": 80, "rf_power_mw": 10.5, "muted": True, "name": "Fiddler"},
    revision="b1.4",
    requested_by="Engineer",
    requested_utc_us=AT.utc_us,
    state=CommandState.PARTLY_DONE,
    changed_utc_us=AT.utc_us + 1,
    reason="the pack took one of two",
    outcomes=(FieldOutcome("low_cut_hz", True), FieldOutcome("muted", False, "locked at the pack")),
    deadline_monotonic_us=83_000_000,
    unrecorded=True,
    act="link",
    progress=0.5,
    result={"key_fingerprint": "3f-9c"},
)

ALARM = Alarm(
    alarm_id="weak-rf:quay-1/carrier/1",
    rule_id="weak-rf",
    address="quay-1/carrier/1",
    state=AlarmState.ACKNOWLEDGED,
    priority=2,
    began_utc_us=AT.utc_us - 1_000_000,
    raised_utc_us=AT.utc_us,
    evidence={"better_branch_margin_db": 11.5},
    cleared_utc_us=AT.utc_us + 9,
    acknowledged_by="Operator",
    acknowledged_utc_us=AT.utc_us + 5,
    raised_count=3,
)

DESCRIPTION = DeviceDescription(
    device_id="quay-1",
    kind="receiver",
    form="two-channel rack",
    simulated=True,
    read_only=False,
    carriers=(
        CarrierDescription(
            "quay-1/carrier/1",
            ("quay-1/carrier/1/branch/a", "quay-1/carrier/1/branch/b"),
            ("quay-1/channel/1",),
            analog=True,
        ),
    ),
    channels=(ChannelDescription("quay-1/channel/1", "quay-1/carrier/1", "pack/k17"),),
    packs=("pack/k17",),
    capabilities=(
        Capability(
            targets=("pack/k17",),
            field="low_cut_hz",
            schema=ValueSchema(SchemaType.INTEGER, minimum=0, maximum=160, multiple_of=10, enum=(0, 80)),
            held=Held.PACK,
            unit="Hz",
            words="low-cut",
            needs_awake=True,
            guarded=True,
            when=(Condition("mode", ("dense",), "quay-1/carrier/1"),),
        ),
    ),
    outputs=(OutputDescription("quay-1/output/1", "network"),),
    inputs=("quay-1/input/a",),
    bays=("quay-1/bay/1",),
    acts=(
        ActCapability(
            targets=("pack/k17",),
            act="set_key",
            words="put a key in",
            arguments=(Argument("key", ValueSchema(SchemaType.STRING), words="key", required=True, secret=True),),
            mutes_for_ms=500,
            cancellable=True,
        ),
    ),
)

CONTACT = ContactStatus(
    "quay-1", ContactState.LOST, AT.utc_us, AT.utc_us - 5_000_000, "no heartbeat", "b1", 3, AT.utc_us, "gate-1"
)

PLACE = ShowPlace(
    revision=3,
    phase=ShowPhase.RUNNING,
    zero=Moment(AT.monotonic_us - 600_000_000, AT.utc_us - 600_000_000),
    started=CueStart("harbour", AT),
    previous=CueStart("quay", Moment(AT.monotonic_us - 600_000_000, AT.utc_us - 600_000_000)),
)

RETUNE_STEP = RetuneStep(
    number=2,
    kind=StepKind.BACK,
    link_id="quay-1/carrier/1",
    channels=("quay-1/channel/1",),
    from_hz=(606_000_000,),
    to_hz=605_000_000,
    writes=(
        RetuneWrite(
            address="pack/k17",
            changes={"frequency_hz": 605_000_000},
            before={"frequency_hz": 606_000_000},
            command_id="r64-2-1",
            state=CommandState.REFUSED,
            reason="the pack is asleep",
            takes_back="r64-1-1",
        ),
    ),
    silent_at_most_s=7.5,
    by_hand=True,
    cautions=("Somebody must set the pack: it has no return link.",),
    state=StepState.FAILED,
    reason="pack/k17: refused: the pack is asleep",
    heard=False,
)

EVENTS: tuple[Event, ...] = (
    ConsoleStarted(AT, 7, "0.1.0"),
    DeviceDescribed(AT, DESCRIPTION),
    ContactChanged(AT, CONTACT),
    SettingsChanged(
        AT, "pack/k17", "quay-1", "b1.5", Cause.COMMAND, {"low_cut_hz": 80}, {"low_cut_hz": 0}, command_id="c-17"
    ),
    CommandChanged(AT, COMMAND),
    AlarmChanged(AT, ALARM, by="Operator"),
    DocumentApplied(AT, "production", 4, "Engineer"),
    ShowMoved(AT, PLACE, ShowStep.JUMP, "the lighting desk", "harbour", "t-9"),
    NoticeReceived(AT, "quay-1", "broken-protocol", "it sent what is not JSON"),
    JournalGap(AT, AT.utc_us - 10, AT.utc_us, missed=12, lost=2),
    GuardChanged(AT, "ear-1", Unlocked("Engineer", "the Keeper hears nothing", AT.utc_us + 600_000_000), by="Engineer"),
    LeaseChanged(AT, "quay-1", Lease(ours=False, holder="the other desk")),
    RetuneChanged(AT, "r64", RetuneState.STOPPED, "Engineer", "step 2: refused", "listen", RETUNE_STEP),
    *PEOPLE_EVENTS,
)


def notice(number: int) -> NoticeReceived:
    """A small event that differs from its neighbours."""
    return NoticeReceived(AT, "quay-1", "count", str(number))


def numbered(first: int, *events: Event) -> tuple[Recorded, ...]:
    """The events with sequence numbers from ``first`` on."""
    return tuple(Recorded(first + index, event) for index, event in enumerate(events))


def command_in(state: CommandState, command_id: str = "c-17") -> CommandChanged:
    """The sample command in another state."""
    return CommandChanged(AT, replace(COMMAND, command_id=command_id, state=state))


def alarm_in(state: AlarmState) -> AlarmChanged:
    """The sample alarm in another state."""
    return AlarmChanged(AT, replace(ALARM, state=state))
