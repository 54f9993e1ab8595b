"""Situations thrown live on whatever is asked for, and taken back: further acts of the exercise protocol."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import msgspec
from msgspec import Meta

from fleet.errors import InvalidRequest, NotFound
from simulator.fault_shapes import Act, Address, Answer, Nothing
from simulator.faults import ACTS
from simulator.play import Play, play_of
from simulator.situation import On, Situation, load_situation, situation_names
from simulator.virtual_fleet import VirtualFleet

THROWN_MAXIMUM = 16
_US = 1_000_000


class Throw(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a situation and what it falls on; what isn't said is as in its document.

    With ``lasts_s`` it is taken back by itself so long afterwards.
    """

    situation: Address
    on: On = On()
    lasts_s: Annotated[float, Meta(gt=0, le=86_400)] | None = None


class ThrownName(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names something that was thrown, by the id in the answer."""

    id: Address


@dataclass(slots=True)
class Thrown:
    """A situation under way. ``play`` goes on performing its steps, until ``ends_us`` if that is said."""

    number: str
    name: str
    situation: Situation
    on: On
    play: Play
    ends_us: int | None = None

    def advance(self, now_us: int) -> None:
        """Do what is due."""
        if self.ends_us is not None and now_us >= self.ends_us:
            self.end(now_us)
        else:
            self.play.advance(now_us)

    def end(self, now_us: int) -> None:
        """Undo what it did."""
        self.play.fleet.plays.pop(self.number, None)
        self.play.forget()
        self.play.schedule(self.situation.take_back, now_us)
        self.play.advance(now_us)


def planned(fleet: VirtualFleet, asked: Throw, now_us: int) -> Thrown:
    """What would be thrown now, all of its steps checked, so that a wrong target changes nothing.

    Raises NotFound or InvalidRequest.
    """
    if asked.situation not in situation_names():
        raise NotFound("situation", asked.situation)
    situation = load_situation(asked.situation)
    on = msgspec.convert(_said(situation.on) | _said(asked.on), On)
    number = fleet.world.luck.word(f"{asked.situation} thrown at {now_us} on {_said(on)}")
    ends_us = None if asked.lasts_s is None else now_us + round(asked.lasts_s * _US)
    return Thrown(number, asked.situation, situation, on, play_of(fleet, situation, on, number), ends_us)


def situations(fleet: VirtualFleet, asked: Nothing, now_us: int) -> Answer:
    """The situations that can be thrown."""
    del fleet, asked, now_us
    return {name: _words(load_situation(name)) for name in situation_names()}


def _words(situation: Situation) -> Answer:
    return {
        "numbers": list(situation.numbers),
        "title": situation.title,
        "cause": situation.cause,
        "signature": situation.signature,
        "on": _said(situation.on),
    }


def _said(on: On) -> dict[str, object]:
    return {name: value for name, value in msgspec.structs.asdict(on).items() if value}


def throw(fleet: VirtualFleet, asked: Throw, now_us: int) -> Answer:
    """Let a situation begin now. Where its first steps can't be done after all, they are undone."""
    found = planned(fleet, asked, now_us)
    if len(_under_way(fleet)) >= THROWN_MAXIMUM:
        raise InvalidRequest(f"at most {THROWN_MAXIMUM} situations at once; take one back first")
    if found.number in fleet.plays:
        raise InvalidRequest(f"{asked.situation} was thrown there this very moment")
    fleet.plays[found.number] = found
    first_s = min((step.after_s for step in found.situation.script), default=0.0)
    found.play.schedule(found.situation.script, now_us - min(0, round(first_s * _US)))
    found.play.advance(now_us)
    if found.play.problems:
        problems = "; ".join(found.play.problems)
        found.end(now_us)
        raise InvalidRequest(f"{asked.situation} can't be thrown there, and was undone: {problems}")
    return {"id": found.number, "problems": []}


def take_back(fleet: VirtualFleet, asked: ThrownName, now_us: int) -> Answer:
    """End a situation and undo what it did; what it used up of cells stays used."""
    found = _under_way(fleet).get(asked.id)
    if found is None:
        raise NotFound("thrown situation", asked.id)
    found.end(now_us)
    return {"problems": found.play.problems}


def thrown(fleet: VirtualFleet, asked: Nothing, now_us: int) -> Answer:
    """What is under way: what was thrown, and what the scenario brought itself, which can't be taken back."""
    del asked, now_us
    brought: Answer = {
        name: {"situation": name, "on": {}, "problems": play.problems}
        for name, play in fleet.plays.items()
        if isinstance(play, Play)
    }
    return brought | {
        number: {"situation": each.name, "on": _said(each.on), "problems": each.play.problems}
        for number, each in _under_way(fleet).items()
    }


def _under_way(fleet: VirtualFleet) -> dict[str, Thrown]:
    return {number: play for number, play in fleet.plays.items() if isinstance(play, Thrown)}


LIVE_ACTS: dict[str, tuple[type[msgspec.Struct], Act]] = {
    "situations": (Nothing, situations),
    "throw": (Throw, throw),
    "take_back": (ThrownName, take_back),
    "thrown": (Nothing, thrown),
}
ALL_ACTS = {**ACTS, **LIVE_ACTS}
