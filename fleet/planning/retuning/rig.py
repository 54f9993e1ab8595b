"""The fleet's links as the console knows them now, and what a plan wishes of them.

A link is what belongs on one frequency: the packs, and of the carriers that hear them those that the plan names. What
the plan doesn't name stays where it is, and keeps others off its frequency.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from fleet.model.address import Place, parse_address
from fleet.model.capability import Capability, ValueSchema, problem_with
from fleet.model.device import CarrierDescription, ContactState, DeviceView
from fleet.model.fields import Value
from fleet.model.quality import Quality
from fleet.model.settings import SettingsView
from fleet.planning.retuning.links import End, Held, Link

FREQUENCY = "frequency_hz"
PACK_ANSWERS_FROM = 0.9
"""The share of answered requests from which a pack counts as within reach; common practice, as for its commands."""


@dataclass(frozen=True, slots=True)
class Wish:
    """Where the plan wants a channel, how far others keep off, and the group it belongs to."""

    channel: str
    frequency_hz: int
    spacing_hz: int
    group: str


@dataclass(frozen=True, slots=True)
class Seen:
    """What the console knows: its devices, the settings of an address, a pack's good readings, and who wears what.

    ``settings`` gives None for what nobody controls, ``reading`` None for what isn't known for certain. ``packs`` are
    the packs that the production gives to channels.
    """

    devices: tuple[DeviceView, ...]
    settings: Callable[[str], SettingsView | None]
    reading: Callable[[str, str], float | None]
    packs: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Rigged:
    """A link, and what it is made of, by address."""

    link: Link
    packs: tuple[str, ...]
    carriers: tuple[str, ...]
    channels: tuple[str, ...]


class Rig:
    """The fleet's wiring, with the settings that count for a retune."""

    def __init__(self, seen: Seen) -> None:
        self._seen = seen
        self._devices = {view.device_id: view for view in seen.devices}
        self.carriers: dict[str, CarrierDescription] = {}
        self.carrier_of: dict[str, str] = {}
        self.pack_of: dict[str, str] = {}
        for view in seen.devices:
            if view.description is not None:
                self.carriers.update((each.address, each) for each in view.description.carriers)
                self.carrier_of.update((each.channel, each.carrier) for each in _borne(view))
                self.pack_of.update((each.channel, each.pack) for each in _borne(view) if each.pack)
        self.pack_of = {**seen.packs, **self.pack_of}

    # ------------------------------------------------------------ links

    def links(self, wishes: Iterable[Wish]) -> tuple[Rigged, ...]:
        """The links of the channels that a plan wishes something of; channels that nobody has are left out."""
        wished = {wish.channel: wish for wish in wishes if wish.channel in self.carrier_of}
        return tuple(self._rigged(channels, wished) for channels in self._joined(wished))

    def held(self, links: Iterable[Rigged], place_of: Callable[[str], str]) -> tuple[Held, ...]:
        """What all other carriers and packs of the fleet keep others off; ``place_of`` a channel says who hears it."""
        moving = {address for rigged in links for address in (*rigged.packs, *rigged.carriers)}
        places: dict[str, str] = {}
        for channel, carrier in self.carrier_of.items():
            for address in (carrier, self.pack_of.get(channel)):
                if address is not None:
                    places.setdefault(address, place_of(channel))
        for view in self._seen.devices:
            for pack in () if view.description is None else view.description.packs:
                places.setdefault(pack, "")
        return tuple(
            Held(hz, place=place, words=f"{address}, which the plan doesn't move")
            for address, place in places.items()
            if address not in moving
            for hz in sorted(self.stands_hz(address))
        )

    def stands_hz(self, address: str) -> frozenset[int]:
        """Where an end stands or may stand: as reported, and as an open or unknown command may have put it."""
        return stands_hz(self._seen.settings(address))

    def _joined(self, wished: Mapping[str, Wish]) -> Iterator[tuple[str, ...]]:
        """The channels of each link: those that share a carrier or a pack."""
        left = dict.fromkeys(wished)
        by_end: dict[str, list[str]] = {}
        for channel in wished:
            for end in self._ends_of(channel):
                by_end.setdefault(end, []).append(channel)
        while left:
            found: dict[str, None] = {}
            ahead = [next(iter(left))]
            while ahead:
                channel = ahead.pop()
                if channel not in found:
                    found[channel] = None
                    ahead += [other for end in self._ends_of(channel) for other in by_end[end]]
            for channel in found:
                del left[channel]
            yield tuple(channel for channel in wished if channel in found)

    def _ends_of(self, channel: str) -> tuple[str, ...]:
        pack = self.pack_of.get(channel)
        return (self.carrier_of[channel], *(() if pack is None else (pack,)))

    def _rigged(self, channels: tuple[str, ...], wished: Mapping[str, Wish]) -> Rigged:
        wishes = [wished[channel] for channel in channels]
        carriers = tuple(dict.fromkeys(self.carrier_of[channel] for channel in channels))
        borne = [channel for carrier in carriers for channel in self.carriers[carrier].channels]
        packs = tuple(dict.fromkeys(self.pack_of[channel] for channel in borne if channel in self.pack_of))
        target_hz = wishes[0].frequency_hz
        link = Link(
            link_id=carriers[0],
            ends=tuple(End(each, hz) for each in (*packs, *carriers) for hz in sorted(self.stands_hz(each))),
            target_hz=target_hz,
            spacing_hz=max(wish.spacing_hz for wish in wishes),
            place=wishes[0].group,
            stays=_contradiction(wishes) or self._why_it_stays((*packs, *carriers), target_hz),
            by_hand=any(self.needs_hand(each) for each in packs) or not packs,
            sleeps=bool(packs) and all(self.way_off_the_air(each) for each in packs),
        )
        return Rigged(link, packs, carriers, channels)

    # ------------------------------------------------------------ what can be done with an end

    def capability(self, address: str, field: str) -> Capability | None:
        """The capability in force of one setting, or None where there is no such setting now."""
        view = self._seen.settings(address)
        device = None if view is None else self._devices.get(view.controlled_through)
        if view is None or device is None or device.description is None or field not in view.in_force:
            return None
        return device.description.capabilities[view.in_force[field]]

    def reported(self, address: str, field: str) -> Value | None:
        """What an end reports of itself."""
        view = self._seen.settings(address)
        return None if view is None else view.reported.get(field)

    def needs_hand(self, address: str) -> bool:
        """Whether somebody must do something at this end for its frequency to change."""
        found = self.capability(address, FREQUENCY)
        return found is not None and found.needs_hand

    def way_off_the_air(self, pack: str) -> str:
        """The setting that takes a pack off the air and can be set from here; empty where there is none."""
        for field in ("rf_on", "standby"):
            found = self.capability(pack, field)
            if found is not None and found.writable and not found.needs_hand and not found.guarded:
                return field
        return ""

    def tunes(self, addresses: Iterable[str], frequency_hz: int) -> bool:
        """Whether all of these ends can take a frequency."""
        return not any(self._why_not_there(address, frequency_hz) for address in addresses)

    def _why_it_stays(self, addresses: tuple[str, ...], target_hz: int) -> str:
        if all(self.stands_hz(address) == {target_hz} for address in addresses):
            return ""
        return next((why for address in addresses if (why := self._why_not(address, target_hz))), "")

    def _why_not(self, address: str, target_hz: int) -> str:
        """Why an end can't be brought to a frequency from here, in words, or nothing."""
        view = self._seen.settings(address)
        device = None if view is None else self._devices.get(view.controlled_through)
        if view is None or device is None or not self.stands_hz(address):
            return f"{address} has not reported its frequency"
        if any(each.field == FREQUENCY for each in view.desired):
            return f"what becomes of the last change of {address} is not known yet"
        if device.contact.state is not ContactState.FRESH:
            return f"{device.device_id}, which controls {address}, is out of contact"
        if device.description is not None and device.description.read_only:
            return f"{device.device_id} allows reading only"
        if device.lease is not None and not device.lease.ours:
            return f"another console writes to {device.device_id}"
        if parse_address(address).place is Place.PACK:
            problem = self._why_pack_stays(address, view)
            if problem:
                return problem
        return self._why_not_there(address, target_hz)

    def _why_pack_stays(self, pack: str, view: SettingsView) -> str:
        if view.reported.get("standby") is True or self._seen.reading(pack, "asleep") == 1.0:
            return f"{pack} is asleep, and would come back on its old frequency; wake it first"
        answers = self._seen.reading(pack, "return_link")
        if self.needs_hand(pack):
            return ""
        if view.quality is not Quality.GOOD or (answers is not None and answers < PACK_ANSWERS_FROM):
            return f"{pack} is out of reach of its return link"
        return ""

    def _why_not_there(self, address: str, frequency_hz: int) -> str:
        found = self.capability(address, FREQUENCY)
        if found is None or not found.writable:
            return f"the frequency of {address} can be read and not written"
        if found.guarded:
            return f"{address} is guarded: in-ear transmitters are moved one at a time, by hand"
        if problem_with(found.schema, frequency_hz) is None:
            return ""
        return f"{address} tunes {_tuning_words(found.schema)}, not to {frequency_hz}"


def _tuning_words(schema: ValueSchema) -> str:
    if schema.enum or schema.minimum is None or schema.maximum is None:
        return "to a few frequencies"
    step = "" if schema.multiple_of is None else f" in steps of {round(schema.multiple_of)}"
    return f"from {round(schema.minimum)} to {round(schema.maximum)} Hz{step}"


def stands_hz(view: SettingsView | None) -> frozenset[int]:
    """Where an end stands or may stand by its settings; nowhere where there are none."""
    if view is None:
        return frozenset()
    asked = [each.value for each in view.desired if each.field == FREQUENCY]
    values = [view.reported.get(FREQUENCY), *asked]
    return frozenset(hz for hz in values if isinstance(hz, int) and not isinstance(hz, bool))


def _contradiction(wishes: list[Wish]) -> str:
    if len({wish.frequency_hz for wish in wishes}) == 1:
        return ""
    return f"the plan wants {' and '.join(wish.channel for wish in wishes)} apart, which share a carrier or a pack"


@dataclass(frozen=True, slots=True)
class _Borne:
    channel: str
    carrier: str
    pack: str | None


def _borne(view: DeviceView) -> Iterator[_Borne]:
    if view.description is not None:
        for channel in view.description.channels:
            yield _Borne(channel.address, channel.carrier, channel.pack)
