"""The planted bugs, and the promise whose trial must find each."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from api import body
from api.door import DoorMiddleware
from fleet import feed_subscription
from fleet.adapters import supervisor
from fleet.adapters.watch import Watch
from fleet.diagnosis import shared
from fleet.journal import engine, entries
from fleet.model import production_csv
from fleet.model.alarm import AlarmState
from fleet.model.command import CommandState
from fleet.pipeline import Pipeline
from fleet.rules.alarm_life import AlarmTrigger
from fleet.state import outgoing, requests, shape, twin
from fleet.state.command_life import Trigger
from fleet.state.contacts import ContactBook
from fleet.state.fleet_state import FleetState
from tests.api.conftest import make_stage
from tests.promises import (
    plants,
    test_alarms_follow,
    test_command_once,
    test_disk_fails,
    test_events_survive,
    test_flood_readable,
    test_hostile_crowd,
    test_hostile_device,
    test_names_only_text,
    test_no_5xx,
    test_slow_screen,
    test_stale_never_live,
    test_twin_converges,
    test_two_operators,
    test_web_pages,
)
from tests.promises.plants import Plant, alarm_goes, goes, nothing, put
from tests.promises.promise import Seen

Tried = Callable[[Path, int], Seen]


@dataclass(frozen=True, slots=True)
class Bug:
    words: str
    tried: Tried
    plant: Plant


def _flood(_folder: Path, seed: int) -> Seen:
    """A tenth of the crowd: with this bug every receiver is a matter of its own, and each costs."""
    return test_flood_readable.tried(seed, test_flood_readable.DEVICES // 10)


def _alarms(_folder: Path, seed: int) -> Seen:
    return test_alarms_follow.tried(seed)


def _crowd(_folder: Path, seed: int) -> Seen:
    return test_hostile_crowd.tried(seed)


def _slow(_folder: Path, seed: int) -> Seen:
    return test_slow_screen.tried(seed)


def _names(folder: Path, seed: int) -> Seen:
    return test_names_only_text.tried(make_stage(folder), seed)


def _pages(_folder: Path, seed: int) -> Seen:
    return test_web_pages.tried(seed)


ASKED = test_no_5xx.tried
COMMANDS = test_command_once.tried
TWIN = test_twin_converges.tried
STALE = test_stale_never_live.tried
HOSTILE = test_hostile_device.tried
POWER = test_events_survive.tried
DISK = test_disk_fails.tried
OPERATORS = test_two_operators.tried
_S, _T = CommandState, Trigger
_A = AlarmState

PLANTED: tuple[Bug, ...] = (
    Bug("a command is confirmed when it is accepted", COMMANDS, goes(_S.SENT, _T.ACCEPTED, _S.CONFIRMED)),
    Bug("a frozen device counts as fresh", STALE, plants.believe_device_time_alone),
    Bug("the journal is synced seldom", POWER, plants.sync_seldom),
    Bug("a write needs no current revision", OPERATORS, put(requests, "_check_revision", nothing)),
    Bug("devices that fall together are many matters", _flood, put(shared, "TOGETHER_WITHIN_US", -1)),
    Bug("no answer in time means not applied", COMMANDS, goes(_S.SENT, _T.DEADLINE, _S.NOT_APPLIED)),
    Bug("no answer in time means never sent", COMMANDS, goes(_S.SENT, _T.DEADLINE, _S.EXPIRED)),
    Bug("no report in time means not applied", COMMANDS, goes(_S.ACCEPTED, _T.DEADLINE, _S.NOT_APPLIED)),
    Bug("after a crash what was sent has expired", COMMANDS, goes(_S.SENT, _T.RESTART, _S.EXPIRED)),
    Bug("what is read back as desired is not applied", COMMANDS, goes(_S.UNKNOWN, _T.READ_EQUAL, _S.NOT_APPLIED)),
    Bug("commands leave before they are journalled", COMMANDS, plants.hand_on_before_the_commit),
    Bug("unknown outcomes are never read back", COMMANDS, put(Pipeline, "read_backs_due", lambda *_: ())),
    Bug("whatever is read back confirms", COMMANDS, put(twin.Twin, "holds", lambda *_: True)),
    Bug("open commands are forgotten in a restart", COMMANDS, put(FleetState, "restore", lambda *_: ())),
    Bug("an old change undoes a newer one", TWIN, put(twin, "_is_newer", lambda *_: True)),
    Bug("changes at the panel are ignored", TWIN, plants.ignore_panels),
    Bug("a reconnect trusts what was known", TWIN, plants.trust_what_was_known),
    Bug("a dead line is never dropped", TWIN, plants.never_drop_a_dead_line),
    Bug("a lost device is tried again after an hour", TWIN, put(supervisor, "back_off_s", lambda *_: 3_600.0)),
    Bug("a frozen device is believed when it greets", STALE, plants.believe_a_greeting),
    Bug("nobody is ever called late", STALE, put(Watch, "_late", nothing)),
    Bug("every contact counts as fresh", STALE, put(ContactBook, "is_fresh", lambda *_: True)),
    Bug("the screen is shown the uncertain as good", STALE, plants.show_the_uncertain_as_good),
    Bug("a device may report another's settings", HOSTILE, plants.let_anybody_report),
    Bug("a message raises an error of no kind of ours", HOSTILE, plants.let_foreign_errors_out),
    Bug("states are not written with their events", POWER, put(entries, "_put_states", nothing)),
    Bug("transactions are never begun", POWER, put(engine, "_begin_immediate", nothing)),
    Bug("what the disk says is swallowed", DISK, plants.swallow_what_the_disk_says),
    Bug("events that are there are written again", DISK, put(entries, "last_sequence", lambda _: 0)),
    Bug("a waiting write never looks again", OPERATORS, put(outgoing.Outgoing, "_is_current", lambda *_: True)),
    Bug("an act that was cut off counts as done", COMMANDS, goes(_S.SENT, _T.CUT_OFF, _S.CONFIRMED)),
    Bug("an act that was cut off counts as cancelled", COMMANDS, goes(_S.ACCEPTED, _T.CUT_OFF, _S.CANCELLED)),
    Bug("an ended alarm is never normal", _alarms, alarm_goes(_A.ACKNOWLEDGED, AlarmTrigger.ENDS, _A.UNACKNOWLEDGED)),
    Bug("absent data clears alarms", _alarms, plants.clear_by_absence),
    Bug("alarms end without their off-delay", _alarms, plants.end_at_once),
    Bug("one device may name twice as much", _crowd, put(shape, "ROWS_OF_ONE_DEVICE_MAXIMUM", 3_072)),
    Bug("letters that wait count as bytes", _slow, put(feed_subscription, "_bytes_of", len)),
    Bug("a formula stays one", _names, put(production_csv, "_neutral", lambda cell: cell)),
    Bug("any page may ask", _pages, put(DoorMiddleware, "_is_our_site", lambda *_: True)),
    Bug("bodies are read as the standard library reads them", ASKED, put(body, "parse_json", json.loads)),
)
