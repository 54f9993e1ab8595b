"""Defects that are planted on purpose: each small and plausible, each put in by monkeypatching."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from fleet.adapters import open_json, open_json_device
from fleet.adapters.device_time import Pulse
from fleet.adapters.watch import Watch
from fleet.errors import JournalUnavailable
from fleet.feed_view import Selection
from fleet.intake import Intake
from fleet.journal import engine
from fleet.journal.ledger import Ledger
from fleet.model.alarm import AlarmState
from fleet.model.command import CommandState
from fleet.model.event import CommandChanged
from fleet.model.observation import SettingsReport
from fleet.model.quality import Quality
from fleet.model.settings import Cause
from fleet.protocol import messages
from fleet.rules import alarm_life
from fleet.rules.condition import ConditionGrid
from fleet.state import command_life
from fleet.state.command_life import Trigger
from fleet.state.fleet_state import FleetState
from fleet.state.twin import Twin

Plant = Callable[[pytest.MonkeyPatch], None]


def put(owner: object, name: str, value: object) -> Plant:
    """Put something else in the place of an attribute."""
    return lambda patch: patch.setattr(owner, name, value)


def goes(state: CommandState, trigger: Trigger, to: CommandState) -> Plant:
    """Let a command go to another state than the table says."""
    return lambda patch: patch.setitem(command_life.TRANSITIONS[state], trigger, to)


def alarm_goes(state: AlarmState, trigger: alarm_life.AlarmTrigger, to: AlarmState) -> Plant:
    """Let an alarm go to another state than the table says."""
    return lambda patch: patch.setitem(alarm_life.TRANSITIONS[state], trigger, to)


def nothing(*_: Any, **__: Any) -> None:
    """Forgets to do it."""


def hand_on_before_the_commit(patch: pytest.MonkeyPatch) -> None:
    record = Intake.record

    def hasty(self: Intake, *events: Any) -> None:
        for event in events:
            if isinstance(event, CommandChanged) and event.command.state is CommandState.SENT:
                self._hand_on(event.command)
        record(self, *events)

    patch.setattr(Intake, "record", hasty)
    patch.setattr(Intake, "_publish", lambda self, batch: self.feed.publish(batch))


def ignore_panels(patch: pytest.MonkeyPatch) -> None:
    report = Twin.report

    def deaf(self: Twin, at: Any, through: str, said: SettingsReport) -> Any:
        return () if said.cause is Cause.PANEL else report(self, at, through, said)

    patch.setattr(Twin, "report", deaf)


def trust_what_was_known(patch: pytest.MonkeyPatch) -> None:
    report = Twin.report

    def trusting(self: Twin, at: Any, through: str, said: SettingsReport) -> Any:
        known = self.get(said.address)
        if known is None or not said.complete:
            return report(self, at, through, said)
        known.current = True
        return ()

    patch.setattr(Twin, "report", trusting)


def never_drop_a_dead_line(patch: pytest.MonkeyPatch) -> None:
    async def patient(self: Watch, run: Any) -> None:
        self.beats = 0
        await run

    patch.setattr(Watch, "until_lost", patient)


def believe_a_greeting(patch: pytest.MonkeyPatch) -> None:
    heard = Watch.heard

    def credulous(self: Watch, item: Any) -> None:
        self._must_prove = False
        heard(self, item)

    patch.setattr(Watch, "heard", credulous)


def believe_device_time_alone(patch: pytest.MonkeyPatch) -> None:
    beat = Pulse.beat
    counted = iter(range(1_000_000_000))
    patch.setattr(Pulse, "beat", lambda self, device_us, _counter: beat(self, device_us, next(counted)))


def show_the_uncertain_as_good(patch: pytest.MonkeyPatch) -> None:
    table_frame = Selection._table_frame

    def painted(self: Selection, table: Any, stamp: Any) -> Any:
        frame = table_frame(self, table, stamp)
        frame.qualities[frame.qualities == Quality.UNCERTAIN] = Quality.GOOD
        return frame

    patch.setattr(Selection, "_table_frame", painted)


def let_anybody_report(patch: pytest.MonkeyPatch) -> None:
    take = FleetState._take_report

    def gullible(self: FleetState, at: Any, device_id: str, report: SettingsReport, *, asked_for: bool) -> Any:
        holder = self._shape.holders.get(report.address, device_id)
        return take(self, at, holder, report, asked_for=asked_for)

    def unchecked(changed: messages.Changed, _known: object) -> SettingsReport:
        return SettingsReport(changed.address, changed.revision, changed.settings, Cause.PANEL)

    patch.setattr(FleetState, "_take_report", gullible)
    patch.setattr(open_json_device, "report_of", unchecked)


def let_foreign_errors_out(patch: pytest.MonkeyPatch) -> None:
    heard = open_json.OpenJsonAdapter._heard_news

    def careless(self: open_json.OpenJsonAdapter, item: Any, at: Any) -> None:
        if isinstance(item, messages.Outcome):
            raise KeyError(item.command_id)
        heard(self, item, at)

    patch.setattr(open_json.OpenJsonAdapter, "_heard_news", careless)


def sync_seldom(patch: pytest.MonkeyPatch) -> None:
    def seldom(connection: Any, _entry: object) -> None:
        connection.isolation_level = None
        cursor = connection.cursor()
        cursor.execute("PRAGMA journal_mode = WAL")
        cursor.execute("PRAGMA synchronous = NORMAL")
        cursor.close()

    patch.setattr(engine, "_prepare_writing", seldom)


def swallow_what_the_disk_says(patch: pytest.MonkeyPatch) -> None:
    transact = Ledger.transact

    def silent(self: Ledger, work: Any) -> Any:
        try:
            return transact(self, work)
        except JournalUnavailable:
            return None

    patch.setattr(Ledger, "transact", silent)


def clear_by_absence(patch: pytest.MonkeyPatch) -> None:
    step = ConditionGrid.step

    def hopeful(self: ConditionGrid, at_us: int, samples: Any, quiet: Any) -> Any:
        absent = np.isnan(samples.values)
        values, sampled = np.where(absent, 99.0, samples.values), np.where(absent, at_us, samples.sampled_us)
        return step(self, at_us, type(samples)(values, sampled, samples.window_us, samples.at_least), quiet)

    patch.setattr(ConditionGrid, "step", hopeful)


def end_at_once(patch: pytest.MonkeyPatch) -> None:
    made = ConditionGrid.__init__

    def hasty(self: ConditionGrid, rules: Any) -> None:
        made(self, rules)
        self._off_us = np.zeros_like(self._off_us)

    patch.setattr(ConditionGrid, "__init__", hasty)
