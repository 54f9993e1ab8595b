"""What retuning needs of the console around it, and the fleet as it is known at one moment."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from fleet.clock import Clock
from fleet.errors import NotFound
from fleet.model.address import Place
from fleet.model.ahead import Ahead
from fleet.model.command import Command
from fleet.model.device import DeviceView
from fleet.model.event import Event
from fleet.model.fields import Value
from fleet.model.inputs import Act
from fleet.model.moment import Moment
from fleet.model.plan import Plan
from fleet.model.production import Production
from fleet.model.quality import Quality
from fleet.model.settings import SettingsView
from fleet.model.show import ShowPhase
from fleet.planning.retuning.preview import Around
from fleet.planning.retuning.rig import Rig, Seen
from fleet.readings import LiveTable

TAKEN_IN_AT_ONCE = 50


class Console(Protocol):
    """The running console. Only ``execute`` and ``note`` wait, for the disk; neither waits for a device."""

    def now(self) -> Moment:
        """The present moment."""

    def ahead(self) -> Ahead:
        """The evening ahead."""

    def production(self) -> Production:
        """The production in force."""

    def devices(self) -> tuple[DeviceView, ...]:
        """Every device."""

    def settings(self, address: str) -> SettingsView:
        """The settings of one thing. Raises NotFound."""

    def table(self, place: Place) -> LiveTable:
        """The live readings of one kind of thing."""

    def exact(self, address: str) -> Mapping[str, Value]:
        """What one thing tells of itself that is text or an exact integer."""

    def command(self, command_id: str) -> Command:
        """A command that is open or recent. Raises NotFound."""

    async def execute(self, person: str, act: Act) -> object:
        """Do what a person asks, durably. Raises the InvalidRequest tree, NotFound and LimitReached."""

    async def note(self, event: Event) -> None:
        """Journal what happened beside the pipeline."""


class PlanBook(Protocol):
    """Where the plans are."""

    async def plan(self, name: str, revision: int | None = None) -> tuple[Plan, int]:
        """A plan and its revision. Raises NotFound and JournalUnavailable."""


@dataclass(frozen=True, slots=True)
class Picture:
    """The fleet at one moment, as a copy that other threads may read."""

    rig: Rig
    around: Around

    def floor_dbm(self, console: Console, channel: str) -> float | None:
        """The highest noise floor that the receiver of a channel measures on its branches, or None."""
        carrier = self.rig.carriers.get(self.rig.carrier_of.get(channel, ""))
        branches = () if carrier is None else carrier.branches
        floors = [reading(console, Place.BRANCH, branch, "floor_dbm") for branch in branches]
        return max((floor for floor in floors if floor is not None), default=None)


async def picture_of(console: Console, clock: Clock) -> Picture:
    """The fleet as it is known now, taken in some at a time, so that nothing live waits for a large one."""
    devices, production = console.devices(), console.production()
    settings: dict[str, SettingsView | None] = {}
    for number, address in enumerate(dict.fromkeys(_tuned(devices)), start=1):
        settings[address] = settings_of(console, address)
        if number % TAKEN_IN_AT_ONCE == 0:
            await clock.sleep(0)
    packs = {each.channel: each.pack for each in production.positions if each.pack is not None}
    readings = _readings(console)
    seen = Seen(devices, settings.get, lambda address, name: readings.get((address, name)), packs)
    zones = {each.channel: each.zone for each in production.positions}
    return Picture(Rig(seen), Around(zones, _identities(console, devices), is_live(console)))


def is_live(console: Console) -> bool:
    """Whether the show runs, by the show clock; on a day without a running order nothing but a person can tell."""
    return console.ahead().show.phase is ShowPhase.RUNNING


def reading(console: Console, place: Place, address: str, name: str) -> float | None:
    """A reading that is good now, or None."""
    table = console.table(place)
    row = table.row_of(address)
    if row is None:
        return None
    column = table.column_of[name]
    good = table.qualities[column, row] == Quality.GOOD
    return float(table.values[column, row]) if good else None


def _tuned(devices: Iterable[DeviceView]) -> Iterable[str]:
    for view in devices:
        if view.description is not None:
            yield from (carrier.address for carrier in view.description.carriers)
            yield from view.description.packs
            yield from (channel.pack for channel in view.description.channels if channel.pack is not None)


def settings_of(console: Console, address: str) -> SettingsView | None:
    """The settings of one thing, or None where nobody holds them."""
    try:
        return console.settings(address)
    except NotFound:
        return None


def _readings(console: Console) -> dict[tuple[str, str], float]:
    table = console.table(Place.PACK)
    return {
        (address, name): value
        for name in ("asleep", "return_link")
        for address, value in zip(table.addresses, table.good(name).tolist(), strict=True)
        if not math.isnan(value)
    }


def _identities(console: Console, devices: Iterable[DeviceView]) -> dict[str, str]:
    """Which pack each channel hears, as far as its receiver names one."""
    channels = [one.address for view in devices if view.description is not None for one in view.description.channels]
    heard = {channel: console.exact(channel).get("identity") for channel in channels}
    return {channel: pack for channel, pack in heard.items() if isinstance(pack, str)}
