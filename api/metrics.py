"""The console's figures in the text format that Prometheus reads (exposition format 0.0.4).

Names follow its conventions: base units last, ``_total`` for counts that only grow. Labels hold ids and states, never
names or free text.
"""

from __future__ import annotations

import gc
import os
import resource
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path

from api.console import Console
from fleet.clock import MICROSECONDS_PER_SECOND
from fleet.model.command import CommandState
from fleet.model.device import ContactState
from fleet.model.vitals import DeviceTraffic, Vitals

CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"
PRIORITIES = (1, 2, 3)
_STATM = Path("/proc/self/statm")
Samples = Mapping[str, float]


def metrics_text(console: Console, version: str, live_connections: int) -> str:
    """All the figures, each with its meaning."""
    vitals = console.vitals()
    families = (
        _family("redpoll_info", "gauge", "The software in force.", "version", {version: 1.0}),
        *_of_devices(console, vitals.devices),
        *_of_work(console),
        *_of_loop(vitals),
        *_of_queues(console, vitals, live_connections),
        *_of_process(),
    )
    return "".join(families)


def _of_devices(console: Console, devices: Iterable[DeviceTraffic]) -> Iterable[str]:
    devices = tuple(devices)
    now_us = console.now().utc_us
    seen = {view.device_id: view.contact.last_seen_utc_us for view in console.devices()}
    ages = {name: (now_us - at_us) / MICROSECONDS_PER_SECOND for name, at_us in seen.items() if at_us is not None}
    lags = {each.device_id: each.frame_age_s for each in devices if each.frame_age_s is not None}
    counted = (
        ("observations", "Messages that said something.", {each.device_id: each.observations for each in devices}),
        ("frames", "Frames of readings.", {each.device_id: each.frames for each in devices}),
        ("heartbeats", "Fresh heartbeats.", {each.device_id: each.heartbeats for each in devices}),
    )
    for name, words, samples in counted:
        yield _family(f"redpoll_device_{name}_total", "counter", words, "device", samples)
    words = "Age of the last frame when it was taken in, at the least."
    yield _family("redpoll_device_ingest_lag_seconds", "gauge", words, "device", lags)
    yield _family("redpoll_device_heartbeat_age_seconds", "gauge", "Age of the last fresh one.", "device", ages)


def _of_work(console: Console) -> Iterable[str]:
    contacts = Counter(view.contact.state for view in console.devices())
    shown = {state.value: contacts[state] for state in ContactState}
    yield _family("redpoll_contacts", "gauge", "Devices by contact.", "state", shown)
    alarms = Counter(alarm.priority for alarm in console.alarms())
    by_priority = {str(priority): alarms[priority] for priority in sorted({*PRIORITIES, *alarms})}
    yield _family("redpoll_alarms", "gauge", "Alarms that aren't normal.", "priority", by_priority)
    commands = Counter(command.state for command in console.commands())
    by_state = {state.value: commands[state] for state in CommandState}
    yield _family("redpoll_commands", "gauge", "Commands, open or of the last ten minutes.", "state", by_state)


def _of_loop(vitals: Vitals) -> Iterable[str]:
    yield _single("redpoll_ticks_total", "counter", "Ticks, ten a second.", vitals.ticks)
    yield _single("redpoll_loop_lag_seconds", "gauge", "How late the last tick came.", vitals.loop_lag_s)
    words = "How late a tick came at the worst, within ten to twenty seconds."
    yield _single("redpoll_loop_lag_worst_seconds", "gauge", words, vitals.loop_lag_worst_s)


def _of_queues(console: Console, vitals: Vitals, live_connections: int) -> Iterable[str]:
    journal = console.journal_status()
    yield _single("redpoll_journal_writable", "gauge", "Whether the journal is written.", journal.writable)
    yield _single("redpoll_journal_commits_total", "counter", "Commits.", vitals.commits)
    yield _single("redpoll_journal_commit_failures_total", "counter", "Failed commits.", vitals.commit_failures)
    yield _single("redpoll_journal_batches_pending", "gauge", "Batches before their commit.", vitals.batches_pending)
    yield _single("redpoll_journal_events_waiting", "gauge", "Events that wait for the disk.", journal.waiting)
    yield _single("redpoll_commands_handing_on", "gauge", "Requests to devices under way.", vitals.commands_handing_on)
    yield _single("redpoll_live_connections", "gauge", "Live connections.", live_connections)
    yield _single("redpoll_subscriptions", "gauge", "Live subscriptions.", vitals.subscriptions)
    words = "Messages and frames that wait for subscribers."
    yield _single("redpoll_subscription_messages_waiting", "gauge", words, vitals.messages_waiting)


def _of_process() -> Iterable[str]:
    times = os.times()
    yield _single("process_cpu_seconds_total", "counter", "Time of processors.", times.user + times.system)
    yield _single("process_resident_memory_bytes", "gauge", "Memory in use.", _resident_bytes())
    collections = {str(number): one["collections"] for number, one in enumerate(gc.get_stats())}
    yield _family("redpoll_gc_collections_total", "counter", "Collections of garbage.", "generation", collections)


def _resident_bytes() -> int:
    """What the process holds in memory now; at the most so far, where the system doesn't tell."""
    try:
        return int(_STATM.read_text().split()[1]) * resource.getpagesize()
    except (OSError, ValueError, IndexError):
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def _single(name: str, kind: str, words: str, value: float) -> str:
    return f"# HELP {name} {words}\n# TYPE {name} {kind}\n{name} {_number(value)}\n"


def _family(name: str, kind: str, words: str, label: str, samples: Samples) -> str:
    lines = [f'{name}{{{label}="{_escaped(text)}"}} {_number(value)}\n' for text, value in samples.items()]
    return f"# HELP {name} {words}\n# TYPE {name} {kind}\n{''.join(lines)}"


def _number(value: float) -> str:
    return str(int(value)) if float(value).is_integer() else repr(float(value))


def _escaped(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
