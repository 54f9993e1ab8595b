"""What a console could know of an evening: readings, settings and words of every device, the plan and the wiring.

All of it came as bytes of the device protocol, but for what a production says: who has lines when, who may sleep, which
antenna an input is wired to, which rack a device is in.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

import msgspec
import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import Value
from fleet.protocol import messages
from simulator.play import Play, play_of
from simulator.rows import Row
from simulator.scenario_checks import load
from simulator.situation import On, Situation
from simulator.step import Step
from simulator.targets import Names, filled
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.desk import Desk

FRAME_S = 0.2
_BLOCK_US = 100_000
_FRAME_US = 200_000
Lines = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """What a production says: lines by the part's name, how often they come again, planned sleeps, wiring, racks."""

    lines: dict[str, Lines]
    every_s: float
    sleeps: tuple[tuple[str, float, float], ...]
    antenna: dict[str, str]
    behind: dict[str, str]
    rack: dict[str, str]


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel as it is described: its carrier, the branches of that, its device and its linked pack."""

    address: str
    carrier: str
    branches: tuple[str, ...]
    device: str
    pack: str


@dataclass(slots=True)
class Recording:
    """Readings [frames] by address and name, NaN where nothing was heard; what was told and set, with its time."""

    frames: int
    plan: Plan
    channels: tuple[Channel, ...]
    readings: dict[tuple[str, str], NDArray[np.float64]]
    exact: dict[tuple[str, str], list[tuple[float, object]]] = field(default_factory=lambda: defaultdict(list))
    settings: dict[tuple[str, str], list[tuple[float, Value]]] = field(default_factory=lambda: defaultdict(list))

    def reading(self, address: str, name: str) -> NDArray[np.float64]:
        """One reading over all frames; NaN all through where there is no such reading."""
        return self.readings.get((address, name), np.full(self.frames, np.nan))

    def setting(self, address: str, name: str, at_s: float = np.inf) -> Value | None:
        """A setting as it was then, as far as the device told."""
        said = [value for when_s, value in self.settings.get((address, name), ()) if when_s <= at_s]
        return said[-1] if said else None

    def told(self, address: str, name: str, since_s: float) -> list[object]:
        """What an exact reading was from then on, in order."""
        said = self.exact.get((address, name), [])
        before = [value for when_s, value in said if when_s < since_s]
        return [*before[-1:], *(value for when_s, value in said if when_s >= since_s)]


class Recorder:
    """A fleet on a stage, and a desk at every device."""

    def __init__(self, situation: Situation, seed: int) -> None:
        self.fleet = VirtualFleet(load(situation.stage), seed)
        on = _some_channel(self.fleet, situation.on, seed)
        self.situation = situation
        self.play: Play = play_of(self.fleet, situation, on)
        self._onset_us = round(situation.onset_s * 1e6)
        self.play.schedule(situation.script, self._onset_us)
        self.fleet.plays["situation"] = self.play
        self._desks = {name: Desk(self.fleet, name).enter(round(FRAME_S * 1000)) for name in self.fleet.devices}
        self._heard: dict[str, list[tuple[int, messages.Readings]]] = {name: [] for name in self._desks}
        self._notes: list[tuple[float, object]] = []
        self.now_us = 0
        for desk in self._desks.values():
            self._note(desk, 0)

    def do(self, steps: Iterable[Step]) -> None:
        """Somebody does something about it now."""
        self.play.schedule(steps, self.now_us)

    def advance(self, until_s: float) -> None:
        """Let the evening go on until then."""
        while self.now_us < round(until_s * 1e6):
            self.now_us += _BLOCK_US
            self.fleet.advance(self.now_us)
            for desk in self._desks.values():
                if desk.conversation.closed:
                    continue
                before = len(desk.heard)
                desk.take(desk.conversation.advance(self.now_us))
                self._note(desk, before)

    def _note(self, desk: Desk, since: int) -> None:
        for item in desk.heard[since:]:
            if isinstance(item, messages.Readings):
                self._heard[desk.device_id].append((self.now_us, item))
            else:
                self._notes.append((self.now_us / 1e6, item))

    def recording(self) -> Recording:
        """All that was heard so far."""
        frames = self.now_us // _FRAME_US + 1
        made = Recording(frames, _plan(self.fleet, self.situation, self.play.names), _channels(self.fleet), {})
        for name, desk in self._desks.items():
            self._add_readings(made, desk, self._heard[name])
        for at_s, item in self._notes:
            _add_note(made, at_s, item)
        return made

    def _add_readings(self, made: Recording, desk: Desk, heard: list[tuple[int, messages.Readings]]) -> None:
        table = np.full((made.frames, len(desk.layout)), np.nan)
        for at_us, frame in heard:
            table[at_us // _FRAME_US] = [np.nan if value is None else float(value) for value in frame.values]
            for address, values in frame.exact.items():
                for name, value in values.items():
                    made.exact[address, name].append((at_us / 1e6, value))
        for column, cell in enumerate(desk.layout):
            made.readings[cell] = table[:, column]


def _add_note(made: Recording, at_s: float, item: object) -> None:
    if isinstance(item, messages.Changed):
        for name, value in item.settings.items():
            made.settings[item.address, name].append((at_s, value))
        return
    body = getattr(item, "body", None)
    if isinstance(body, messages.ReadResult):
        for entry in body.settings:
            for name, value in entry.settings.items():
                made.settings[entry.address, name].append((at_s, value))


def _channels(fleet: VirtualFleet) -> tuple[Channel, ...]:
    return tuple(Channel(row.channel, row.carrier, row.branches, row.device_id, row.pack) for row in fleet.world.rows)


def _plan(fleet: VirtualFleet, situation: Situation, names: Names) -> Plan:
    rows, onset_s = fleet.world.rows, situation.onset_s
    sleeps = tuple(
        (str(filled(sleep.pack, names)), onset_s + sleep.from_s, onset_s + sleep.to_s) for sleep in situation.sleep
    )
    return Plan(
        lines={row.spec.part: row.spec.speaks for row in rows},
        every_s=max(row.spec.speaks_every_s for row in rows),
        sleeps=sleeps,
        antenna={branch: name for row in rows for branch, name in _wired(row)},
        behind={name: feed.distribution for name, feed in fleet.world.feeds.by_antenna.items()},
        rack=dict(fleet.racks),
    )


def _wired(row: Row) -> list[tuple[str, str]]:
    return list(zip(row.branches, row.receiver.antennas.values(), strict=True))


def _some_channel(fleet: VirtualFleet, on: On, seed: int) -> On:
    """The target, on another speaking channel of the same kind with another seed where it falls on a single one."""
    if {name for name, value in msgspec.structs.asdict(on).items() if value} != {"channel"}:
        return on
    named = next(row for row in fleet.world.rows if row.channel == on.channel)
    alike = [row.channel for row in fleet.world.rows if row.spec.speaks and _kind(row) == _kind(named)]
    return On(channel=alike[seed % len(alike)])


def _kind(row: Row) -> tuple[object, ...]:
    return row.receiver.analog, row.spec.needs_phantom, row.receiver.rack
