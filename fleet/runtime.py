"""The running console: builds the parts, owns their tasks and lifetimes, and passes things on. It decides nothing.

Whatever a device says or a person asks becomes an input of the pipeline. What the pipeline makes of it goes through the
recorder, committed and then published, to the feed; commands that became SENT go on to the devices after that.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from contextlib import AsyncExitStack
from dataclasses import dataclass, field
from typing import Protocol

from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from fleet.config import DeviceAddress
from fleet.dispatch import Devices, Dispatcher
from fleet.editor import Editor
from fleet.errors import NotFound
from fleet.feed import Subscription, View
from fleet.intake import Intake
from fleet.jobs import Jobs
from fleet.journal.documents import Documents
from fleet.journal.people import People
from fleet.journal.reader import Reader
from fleet.journal.writer import JournalWriter, Writer
from fleet.model.act import ScanLevels
from fleet.model.address import Place
from fleet.model.ahead import Ahead
from fleet.model.alarm import Alarm
from fleet.model.command import Command, CommandState
from fleet.model.device import DeviceView
from fleet.model.event import AlarmChanged, ConsoleStarted, Event
from fleet.model.fields import Value
from fleet.model.inputs import (
    Acknowledge,
    Act,
    CancelCommand,
    LockDevice,
    OperatorAction,
    ShowClock,
    TakeLease,
    Tick,
    UnlockDevice,
)
from fleet.model.matter import Matter
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Observation
from fleet.model.production import Production
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus, Snapshot
from fleet.model.vitals import Vitals
from fleet.model.zone import ScreensChanged, ZoneAct, ZoneWriter
from fleet.plans import Plans
from fleet.readings import LiveTable
from fleet.retuning.keeping import RunBook
from fleet.retuning.retuner import Retuner
from fleet.roster import NoSurroundings, Roster, Surroundings
from fleet.shelf import Shelf
from fleet.stores import Stores, open_stores
from fleet.surveys import Surveys
from fleet.tally import Tally

TICK_EVERY_US = 100_000
TICKS_BEHIND_MAXIMUM_US = 1_000_000
Sink = Callable[[Observation | Contact], None]


class Contacts(Devices, Protocol):
    """Whoever keeps contact with the devices: the supervisor."""

    async def start(self, devices: Sequence[DeviceAddress]) -> None:
        """Begin to keep contact with each."""

    async def keep_only(self, devices: Sequence[DeviceAddress]) -> None:
        """Keep contact with these from now on; those that stay as they are are left alone."""

    async def failed(self) -> None:
        """Wait until a contact can't be kept by a defect of ours, and raise that; returns after ``stop``."""

    async def stop(self) -> None:
        """Drop every contact."""

    def retry_now(self, device_id: str) -> None:
        """End the pause before the next attempt. Raises NotFound."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What a console is started with.

    ``make_contacts`` is given the sink for all that devices say. ``make_writer`` decides whether the journal commits in
    a thread of its own. A ``production`` replaces the one that stands in the journal; None leaves that in place.
    ``surroundings`` are what lies around it: what it may call, and what announces itself.
    """

    database_url: str
    make_contacts: Callable[[Sink], Contacts]
    software_version: str
    devices: tuple[DeviceAddress, ...] = ()
    production: Production | None = None
    make_writer: Callable[[str], JournalWriter] = Writer
    surroundings: Surroundings = field(default_factory=NoSurroundings)


class Runtime:
    """A console that runs; made by ``start`` and ended by ``stop``."""

    def __init__(self, plan: Plan, clock: Clock, stores: Stores) -> None:
        self._plan = plan
        self._clock = clock
        self._stores = stores
        self._intake = Intake(stores, clock, self._hand_on)
        self._pipeline = self._intake.pipeline
        self._recorder = self._intake.recorder
        self._feed = self._intake.feed
        self._contacts = plan.make_contacts(self._hear)
        self._dispatcher = Dispatcher(self._contacts)
        self._tally = Tally()
        self._tasks: list[asyncio.Task[None]] = []
        self._lifetime = AsyncExitStack()
        self.roster = Roster(plan.devices, plan.surroundings, stores.documents, self._intake, self._contacts)
        self.editor = Editor(Shelf(stores.documents), self._intake)
        self.jobs = Jobs(clock)
        self.plans = Plans(stores.documents, self.jobs, self._intake)
        self.surveys = Surveys(stores.documents, self.jobs, self._intake)
        self.retuner = Retuner(self, self.plans, RunBook(stores.documents, stores.reader, self), clock)

    # ------------------------------------------------------------ lifetime

    @classmethod
    async def start(cls, plan: Plan, clock: Clock) -> Runtime:
        """Start a console.

        Raises JournalUnavailable when the database can't be used, and InvalidDocument when a document in it is wrong;
        nothing is left running then.
        """
        async with AsyncExitStack() as stack:
            runtime = cls(plan, clock, await open_stores(plan.database_url, plan.make_writer, stack))
            stack.push_async_callback(runtime._end)
            await runtime._begin()
            runtime._lifetime = stack.pop_all()
            return runtime

    async def failed(self) -> None:
        """Wait until a part fails, and raise what it raised; returns when the console was stopped."""
        done, _ = await asyncio.wait(self._tasks, return_when=asyncio.FIRST_EXCEPTION)
        for task in done:
            if not task.cancelled():
                task.result()

    async def stop(self) -> None:
        """Drop every contact, settle what is left, and give the database up."""
        await self._lifetime.aclose()

    async def _begin(self) -> None:
        """Take in what the journal remembers, apply the documents, and begin to keep contact."""
        self._tasks.append(self._recorder.start())
        self._intake.record(ConsoleStarted(self.now(), self._stores.epoch, self._plan.software_version))
        devices = await self.roster.begin()
        watched = frozenset(device.device_id for device in devices)
        self._intake.take(await self._stores.remembered(self.now(), watched))
        await self.editor.begin(self._plan.production)
        self.roster.put_in_force()
        await self._intake.settled()
        await self.retuner.begin()
        self._tasks.append(asyncio.create_task(self._tick_for_ever(), name="ticks"))
        await self._contacts.start(devices)
        await self.roster.start()
        self._tasks.append(asyncio.create_task(self._contacts.failed(), name="contacts"))

    async def _end(self) -> None:
        await self.retuner.stop()
        await self.jobs.close()
        await self.roster.stop()
        await self._contacts.stop()
        await self._dispatcher.stop()
        recording, *others = self._tasks
        for task in others:
            task.cancel()
        await asyncio.gather(*others, return_exceptions=True)
        if not recording.done():
            await self._recorder.close()
        self._feed.close()

    # ------------------------------------------------------------ what people ask

    async def execute(self, person: str, act: Act) -> Command | tuple[Alarm, ...] | DeviceView | tuple[ZoneWriter, ...]:
        """Do what a person asks; returns once it is durable, or marked as unrecorded while the journal fails.

        Raises of the InvalidRequest tree, NotFound and LimitReached; nothing was changed then.
        """
        events = self._intake.take(OperatorAction(self.now(), person, act))
        await self._intake.settled()
        if isinstance(act, CancelCommand):
            self._cancel_at_device(act.command_id)  # After its own write, which the commit may have held back.
        if isinstance(act, Acknowledge):
            return self._acknowledged(act, events)
        if isinstance(act, ZoneAct):
            return self.zones()
        if isinstance(act, UnlockDevice | LockDevice | TakeLease):
            if isinstance(act, TakeLease):
                self._dispatcher.take_lease(act.device_id)
            return self.device(act.device_id)
        return self.command(act.command_id)

    async def move_show(self, asked: ShowClock) -> Ahead:
        """Move the show clock; returns what lies ahead then, once the move is durable. Raises as the clock does."""
        self._intake.take(asked)
        await self._intake.settled()
        return self.ahead()

    async def note(self, event: Event) -> None:
        """Journal what happened beside the pipeline, among people; returns once it is durable or waits for the disk."""
        self._intake.record(event)
        await self._intake.settled()

    def screens_changed(self, person: str, *, any_open: bool) -> None:
        """A person's first screen opened, or their last one closed."""
        self._intake.take(ScreensChanged(self.now(), person, any_open))

    def retry_now(self, device_id: str) -> None:
        """Try to reach a device at once. Raises NotFound."""
        self._contacts.retry_now(device_id)

    def subscribe(self, view: View, since: int | None = None) -> Subscription:
        """The whole picture and every change after it. Raises ValueRefused, NotFound and LimitReached."""
        return self._feed.subscribe(view, since)

    # ------------------------------------------------------------ what people see

    @property
    def reader(self) -> Reader:
        """The journal, for reading; its calls wait for the disk."""
        return self._stores.reader

    @property
    def documents(self) -> Documents:
        """The documents; reading them waits for the disk."""
        return self._stores.documents

    @property
    def people(self) -> People:
        """The people who may log in, their sessions and tokens."""
        return self._stores.people

    def now(self) -> Moment:
        """The present moment."""
        return self._intake.now()

    def vitals(self) -> Vitals:
        """How the console itself is."""
        return Vitals(
            devices=self._tally.traffic(),
            ticks=self._tally.ticks,
            loop_lag_s=self._tally.lag_s,
            loop_lag_worst_s=self._tally.worst_lag_s,
            commits=self._recorder.commits,
            commit_failures=self._recorder.commit_failures,
            batches_pending=self._recorder.pending,
            commands_handing_on=self._dispatcher.under_way,
            subscriptions=self._feed.subscriptions,
            messages_waiting=self._feed.waiting,
        )

    def snapshot(self) -> Snapshot:
        """The whole live picture but the readings."""
        return self._intake.picture.snapshot()

    def ahead(self) -> Ahead:
        """The evening ahead: the place in the running order, sleep and wake, runways."""
        return self._pipeline.ahead()

    def journal_status(self) -> JournalStatus:
        """Whether the journal is written."""
        return self._recorder.status

    def devices(self) -> tuple[DeviceView, ...]:
        """Every device, with the contact with it."""
        return self._pipeline.devices()

    def device(self, device_id: str) -> DeviceView:
        """One device. Raises NotFound."""
        found = next((device for device in self.devices() if device.device_id == device_id), None)
        if found is None:
            raise NotFound("device", device_id)
        return found

    def levels(self, command_id: str) -> ScanLevels:
        """What a scan that is under way or recent has found so far. Raises NotFound."""
        self.command(command_id)
        return self._pipeline.levels(command_id) or ScanLevels(command_id)

    def zones(self) -> tuple[ZoneWriter, ...]:
        """The zones in which one person alone writes."""
        return self._pipeline.zones()

    def alarms(self) -> tuple[Alarm, ...]:
        """Every alarm that isn't normal."""
        return self._pipeline.alarms()

    def matters(self) -> tuple[Matter, ...]:
        """What needs somebody, root first."""
        return self._pipeline.matters()

    def commands(self) -> tuple[Command, ...]:
        """The commands that are open or recent."""
        return self._pipeline.commands()

    def settings(self, address: str) -> SettingsView:
        """The settings of one thing. Raises NotFound."""
        return self._pipeline.settings(address)

    def production(self) -> Production:
        """The production in force."""
        return self._pipeline.production

    def exact(self, address: str) -> Mapping[str, Value]:
        """What one thing tells of itself that is text or an exact integer."""
        return self._pipeline.exact(address)

    def table(self, place: Place) -> LiveTable:
        """The live readings of one kind of thing."""
        return self._pipeline.tables[place]

    def command(self, command_id: str) -> Command:
        """A command that is open or was asked for within ten minutes. Raises NotFound."""
        command = self._pipeline.command(command_id)
        if command is None:
            raise NotFound("command", command_id)
        return command

    # ------------------------------------------------------------ inputs

    def _hear(self, item: Observation | Contact) -> None:
        self._tally.heard(item)
        self._intake.take(item)

    async def _tick_for_ever(self) -> None:
        due_us = self._clock.monotonic_us()
        while True:
            due_us += TICK_EVERY_US
            behind_us = self._clock.monotonic_us() - due_us
            if behind_us > TICKS_BEHIND_MAXIMUM_US:
                due_us += behind_us  # The machine slept or was held up: what was missed is not made up for.
            await self._clock.sleep(max(0, -behind_us) / MICROSECONDS_PER_SECOND)
            now_us = self._clock.monotonic_us()
            self._tally.ticked(max(behind_us, now_us - due_us), now_us)
            self._tick()

    def _tick(self) -> None:
        at = self.now()
        self._intake.take(Tick(at))
        for command in self._pipeline.cancels_due(at):
            self._dispatcher.cancel(command)
        for address in self._pipeline.read_backs_due(at):
            self._dispatcher.read_back(self._pipeline.settings(address).controlled_through, address)
        self._feed.tick(at, self._recorder.status)

    # ------------------------------------------------------------ after the commit

    def _hand_on(self, command: Command) -> None:
        """Send a command, unless the commit took so long that its deadline has passed: then it never goes out."""
        now = self._pipeline.command(command.command_id)
        if now is None or now.state is not CommandState.SENT:
            return
        if command.act:
            self._dispatcher.act(command, self._pipeline.take_secrets(command.command_id))
        else:
            self._dispatcher.write(command)

    def _cancel_at_device(self, command_id: str) -> None:
        """A command that was sent is for the device to cancel; what comes of it comes as its answer."""
        command = self.command(command_id)
        if not command.is_terminal:
            self._dispatcher.cancel(command)

    def _acknowledged(self, act: Acknowledge, events: Sequence[Event]) -> tuple[Alarm, ...]:
        known = {alarm.alarm_id: alarm for alarm in self._pipeline.alarms()}
        changed = {event.alarm.alarm_id: event.alarm for event in events if isinstance(event, AlarmChanged)}
        now = {**changed, **known}
        return tuple(now[alarm_id] for alarm_id in act.alarm_ids if alarm_id in now)
