"""Situations thrown live on whatever is asked for, and taken back: further acts of the exercise protocol."""

from __future__ import annotations

from dataclasses import dataclass

import msgspec

from fleet.errors import InvalidRequest, NotFound
from simulator.fault_shapes import Act, Address, Answer, Nothing
from simulator.play import Play, play_of
from simulator.situation import On, Situation, load_situation, situation_names
from simulator.virtual_fleet import VirtualFleet

THROWN_MAXIMUM = 16


class Throw(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names a situation and what it falls on; what isn't said is as in its document."""

    situation: Address
    on: On = On()


class ThrownName(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Names something that was thrown, by the id in the answer."""

    id: Address


@dataclass(slots=True)
class Thrown:
    """A situation under way. ``play`` goes on performing its steps."""

    name: str
    situation: Situation
    on: On
    play: Play

    def advance(self, now_us: int) -> None:
        """Do what is due."""
        self.play.advance(now_us)


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
    """Let a situation begin now. Every step is checked first, so that a wrong target changes nothing."""
    if asked.situation not in situation_names():
        raise NotFound("situation", asked.situation)
    if len(_under_way(fleet)) >= THROWN_MAXIMUM:
        raise InvalidRequest(f"at most {THROWN_MAXIMUM} situations at once; take one back first")
    situation = load_situation(asked.situation)
    on = msgspec.convert(_said(situation.on) | _said(asked.on), On)
    play = play_of(fleet, situation, on)
    number = fleet.world.luck.word(f"{asked.situation} thrown at {now_us} on {on}")
    if number in fleet.plays:
        raise InvalidRequest(f"{asked.situation} was thrown there this very moment")
    fleet.plays[number] = Thrown(asked.situation, situation, on, play)
    first_s = min((step.after_s for step in situation.script), default=0.0)
    play.schedule(situation.script, now_us - min(0, round(first_s * 1_000_000)))
    play.advance(now_us)
    return {"id": number, "problems": play.problems}


def take_back(fleet: VirtualFleet, asked: ThrownName, now_us: int) -> Answer:
    """End a situation and undo what it did; what it used up of cells stays used."""
    found = _under_way(fleet).get(asked.id)
    if found is None:
        raise NotFound("thrown situation", asked.id)
    del fleet.plays[asked.id]
    found.play.forget()
    found.play.schedule(found.situation.take_back, now_us)
    found.play.advance(now_us)
    return {"problems": found.play.problems}


def thrown(fleet: VirtualFleet, asked: Nothing, now_us: int) -> Answer:
    """What is under way."""
    del asked, now_us
    return {
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
