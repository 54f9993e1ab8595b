"""A small fleet in pure inputs: receivers of two channels, and a hand that feeds a pipeline with them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from fleet.model.capability import Capability, Held, SchemaType, ValueSchema
from fleet.model.command import Command, CommandState
from fleet.model.device import CarrierDescription, ChannelDescription, ContactState, DeviceDescription
from fleet.model.event import AlarmChanged, CommandChanged, Event
from fleet.model.fields import Value
from fleet.model.inputs import DocumentChanged, OperatorAction, PipelineInput, RequestWrite, Tick
from fleet.model.moment import Moment
from fleet.model.observation import (
    Answer,
    CommandAnswer,
    Contact,
    Layout,
    Observation,
    ReadingFrame,
    SettingsReport,
)
from fleet.model.production import Position, Production
from fleet.model.quality import Quality
from fleet.model.settings import Cause
from fleet.pipeline import Pipeline

START_UTC_US = 1_700_000_000_000_000
TICK_US = 100_000
PACK_SETTINGS: dict[str, Value] = {"low_cut_hz": 80, "rf_power_mw": 10.0, "standby": False, "name": "one"}
BRANCH_READINGS = ("rf_dbm", "rf_min_dbm", "rf_max_dbm", "floor_dbm")
CHANNEL_READINGS = ("rms_dbfs", "peak_dbfs", "audio_damage_fraction", "audio_state")
Changes = Mapping[str, float] | Mapping[tuple[str, str], float]
PACK_READINGS = ("asleep", "goodbye", "return_link", "battery_minutes", "input_overload")
DEVICE_READINGS = ("clock_locked", "clock_error_ppm", "slip_count")


def moment(seconds: float) -> Moment:
    return Moment(round(seconds * 1e6), START_UTC_US + round(seconds * 1e6))


def pack_of(device_id: str, number: int) -> str:
    return f"pack/{device_id}-{number}"


def describe(device_id: str, channels: int = 2) -> DeviceDescription:
    numbers = range(1, channels + 1)
    packs = tuple(pack_of(device_id, number) for number in numbers)
    return DeviceDescription(
        device_id=device_id,
        kind="receiver",
        form="rack",
        simulated=True,
        read_only=False,
        carriers=tuple(
            CarrierDescription(
                address=f"{device_id}/carrier/{number}",
                branches=tuple(f"{device_id}/carrier/{number}/branch/{label}" for label in "ab"),
                channels=(f"{device_id}/channel/{number}",),
            )
            for number in numbers
        ),
        channels=tuple(
            ChannelDescription(f"{device_id}/channel/{n}", f"{device_id}/carrier/{n}", pack_of(device_id, n))
            for n in numbers
        ),
        packs=packs,
        capabilities=(
            Capability(packs, "low_cut_hz", ValueSchema(SchemaType.INTEGER, 0, 160, 10), Held.PACK, "Hz"),
            Capability(packs, "rf_power_mw", ValueSchema(SchemaType.NUMBER, enum=(2.0, 10.0, 50.0)), Held.PACK, "mW"),
            Capability(packs, "standby", ValueSchema(SchemaType.BOOLEAN), Held.PACK),
            Capability(packs, "name", ValueSchema(SchemaType.STRING, maximum_length=8), Held.PACK, writable=False),
            Capability(
                tuple(f"{device_id}/carrier/{n}" for n in numbers),
                "frequency_hz",
                ValueSchema(SchemaType.INTEGER, 470_000_000, 694_000_000, 25_000),
                Held.RECEIVER,
                "Hz",
            ),
        ),
    )


def layout_of(description: DeviceDescription, interval_ms: int = 100) -> Layout:
    cells: list[tuple[str, str]] = [(description.device_id, name) for name in DEVICE_READINGS]
    for carrier in description.carriers:
        cells += [(branch, name) for branch in carrier.branches for name in BRANCH_READINGS]
        cells += [(carrier.address, name) for name in ("link_quality", "foreign")]
    cells += [(channel.address, name) for channel in description.channels for name in CHANNEL_READINGS]
    cells += [(pack, name) for pack in description.packs for name in PACK_READINGS]
    return Layout(tuple(cells), interval_ms)


HEALTHY: dict[str, float] = {
    "rf_dbm": -55.0,
    "rf_min_dbm": -60.0,
    "rf_max_dbm": -50.0,
    "floor_dbm": -105.0,
    "link_quality": 1.0,
    "foreign": 0.0,
    "rms_dbfs": -24.0,
    "peak_dbfs": -15.0,
    "audio_damage_fraction": 0.0,
    "audio_state": 0.0,
    "asleep": 0.0,
    "goodbye": 0.0,
    "return_link": 1.0,
    "battery_minutes": 300.0,
    "input_overload": 0.0,
    "clock_locked": 1.0,
    "clock_error_ppm": 0.0,
    "slip_count": 0.0,
}


def produce(*device_ids: str, spares: Iterable[str] = ()) -> Production:
    channels = [f"{device_id}/channel/{number}" for device_id in device_ids for number in (1, 2)]
    spare = frozenset(spares)
    positions = tuple(
        Position(index, f"Part {index}", "House", channel, None, channel in spare)
        for index, channel in enumerate(channels, start=1)
    )
    return Production("Trial", ("House",), positions)


@dataclass
class Hand:
    """Feeds a pipeline: one call per happening, time in seconds, every event kept."""

    pipeline: Pipeline = field(default_factory=lambda: Pipeline(epoch=1))
    now_s: float = 0.0
    events: list[Event] = field(default_factory=list)
    layouts: dict[str, Layout] = field(default_factory=dict)
    revisions: dict[str, int] = field(default_factory=dict)
    boots: dict[str, str] = field(default_factory=dict)
    sequence: int = 0

    @property
    def at(self) -> Moment:
        return moment(self.now_s)

    def give(self, item: PipelineInput) -> tuple[Event, ...]:
        events = self.pipeline.step(item)
        self.events += events
        return events

    def connect(self, device_id: str, boot_id: str = "b1", channels: int = 2) -> None:
        description = describe(device_id, channels)
        self.boots[device_id] = boot_id
        self.layouts[device_id] = layout_of(description)
        self.give(Contact(self.at, device_id, ContactState.FRESH, boot_id=boot_id, description=description))
        for pack in description.packs:
            self.report(device_id, pack, PACK_SETTINGS, complete=True)

    def produce(self, *device_ids: str, spares: Iterable[str] = ()) -> None:
        self.give(DocumentChanged(self.at, produce(*device_ids, spares=spares), 1))

    def contact(self, device_id: str, state: ContactState, reason: str = "", boot_id: str = "") -> tuple[Event, ...]:
        return self.give(Contact(self.at, device_id, state, reason=reason, boot_id=boot_id))

    def heartbeat(self, device_id: str) -> tuple[Event, ...]:
        return self.contact(device_id, ContactState.FRESH, boot_id=self.boots[device_id])

    def frame(self, device_id: str, changes: Changes | None = None) -> None:
        """A frame of healthy values; ``changes`` go by reading name, or by address and name."""
        given: dict[object, float] = {}
        if changes is not None:
            given.update((key, value) for key, value in changes.items())
        layout = self.layouts[device_id]
        values = [given.get((a, name), given.get(name, HEALTHY[name])) for a, name in layout.cells]
        self.sequence += 1
        frame = ReadingFrame(layout, self.sequence, round(self.now_s * 1e6), np.array(values, dtype=np.float64))
        self.give(Observation(self.at, device_id, frame=frame))

    def tick(self) -> tuple[Event, ...]:
        return self.give(Tick(self.at))

    def run(
        self,
        seconds: float,
        device_ids: Iterable[str] = (),
        changes: Changes | None = None,
    ) -> None:
        """Let time pass in ticks; ``device_ids`` send a frame before each and a heartbeat each second."""
        ids = tuple(device_ids)
        for _ in range(round(seconds * 10)):
            self.now_s = round(self.now_s + 0.1, 6)
            for device_id in ids:
                if round(self.now_s * 10) % 10 == 0:
                    self.heartbeat(device_id)
                self.frame(device_id, changes)
            self.tick()

    def report(
        self,
        device_id: str,
        address: str,
        settings: Mapping[str, Value],
        *,
        complete: bool = False,
        cause: Cause = Cause.PANEL,
        command_id: str = "",
    ) -> tuple[Event, ...]:
        self.revisions[address] = self.revisions.get(address, 0) + 1
        revision = f"{self.boots[device_id]}.{self.revisions[address]}"
        report = SettingsReport(address, revision, dict(settings), cause, command_id, complete)
        return self.give(Observation(self.at, device_id, reports=(report,)))

    def read_back(
        self, device_id: str, address: str, settings: Mapping[str, Value], quality: Quality = Quality.GOOD
    ) -> tuple[Event, ...]:
        revision = f"{self.boots[device_id]}.{self.revisions.get(address, 0)}"
        report = SettingsReport(address, revision, dict(settings), complete=True, quality=quality)
        return self.give(Observation(self.at, device_id, reports=(report,), read_back=(address,)))

    def write(
        self, command_id: str, target: str, changes: Mapping[str, Value], revision: str = ""
    ) -> tuple[Event, ...]:
        seen = revision or self.pipeline.settings(target).revision
        return self.give(OperatorAction(self.at, "engineer", RequestWrite(command_id, target, changes, seen)))

    def answer(
        self, device_id: str, command_id: str, answer: Answer, refused_fields: Mapping[str, str] | None = None
    ) -> tuple[Event, ...]:
        given = CommandAnswer(command_id, answer, refused_fields=refused_fields or {})
        return self.give(Observation(self.at, device_id, answers=(given,)))

    def command(self, command_id: str) -> Command:
        command = self.pipeline.command(command_id)
        assert command is not None
        return command

    def states_of(self, command_id: str) -> list[CommandState]:
        return [
            event.command.state
            for event in self.events
            if isinstance(event, CommandChanged) and event.command.command_id == command_id
        ]

    def alarm_states(self, alarm_id: str) -> list[str]:
        return [
            event.alarm.state.value
            for event in self.events
            if isinstance(event, AlarmChanged) and event.alarm.alarm_id == alarm_id
        ]
