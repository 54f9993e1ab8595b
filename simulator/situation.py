"""Situations: documents that say what goes wrong on a stage, how it shows, what ends it and what does not."""

from __future__ import annotations

import tomllib
from importlib import resources
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from fleet.errors import InvalidDocument
from simulator.scenario import as_invalid
from simulator.scenario_values import Name, Point3, Seconds
from simulator.step import STEPS_MAXIMUM, Step

Words = Annotated[str, Meta(min_length=1, max_length=500)]
Steps = Annotated[tuple[Step, ...], Meta(min_length=1, max_length=STEPS_MAXIMUM)]


class Way(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Something that somebody may do about it, in words and as steps."""

    words: Words
    step: Steps


class Sleep(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A sleep that is planned: whose, and in which seconds about the onset."""

    pack: str
    from_s: float
    to_s: float


class On(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What it falls on: channels by address, the antenna of a path, a rack, a device, a block by its middle.

    ``place_m`` is where in the venue it takes somebody: x, y and height.
    """

    channel: str = ""
    other: str = ""
    third: str = ""
    fourth: str = ""
    fifth: str = ""
    path: str = ""
    rack: str = ""
    device: str = ""
    block_hz: int = 0
    place_m: Point3 | None = None


class Situation(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One situation, or a pair of them at once; a healthy one that looks like a fault has no ``numbers``.

    ``lasts_s`` is how long after the onset it shows itself for certain. A ``candidate`` can't be proved by readings
    alone: ``test`` says what would.
    """

    numbers: Annotated[tuple[int, ...], Meta(max_length=2)]
    title: Name
    cause: Words
    signature: Words
    candidate: bool = False
    test: str = ""
    stage: Name
    onset_s: Seconds
    lasts_s: Annotated[float, Meta(gt=0, le=7200)]
    on: On
    script: Annotated[tuple[Step, ...], Meta(max_length=STEPS_MAXIMUM)] = ()
    take_back: Annotated[tuple[Step, ...], Meta(max_length=STEPS_MAXIMUM)] = ()
    cure: Annotated[tuple[Way, ...], Meta(max_length=8)] = ()
    wrong: Annotated[tuple[Way, ...], Meta(max_length=8)] = ()
    sleep: Annotated[tuple[Sleep, ...], Meta(max_length=16)] = ()


_FOLDER = resources.files("simulator") / "scenarios" / "situations"


def situation_names() -> tuple[str, ...]:
    """The situations that come with the simulator."""
    return tuple(sorted(file.name.removesuffix(".toml") for file in _FOLDER.iterdir() if file.name.endswith(".toml")))


def load_situation(name_or_file: str) -> Situation:
    """A situation that comes with the simulator, or one from a file.

    Raises InvalidDocument with file, key and what was expected.
    """
    if name_or_file in situation_names():
        return decode_situation(f"{name_or_file}.toml", (_FOLDER / f"{name_or_file}.toml").read_text(encoding="utf-8"))
    try:
        return decode_situation(name_or_file, Path(name_or_file).read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        expected = f"a readable TOML file, or one of {', '.join(situation_names())}"
        raise InvalidDocument(name_or_file, "file", expected, str(error)) from error


def decode_situation(file: str, text: str) -> Situation:
    """The situation in ``text``, its steps' shapes checked, its targets not yet."""
    try:
        situation = msgspec.convert(tomllib.loads(text), Situation)
    except tomllib.TOMLDecodeError as error:
        raise InvalidDocument(file, "document", "TOML", str(error)) from error
    except msgspec.ValidationError as error:
        raise as_invalid(file, str(error)) from error
    for key, step in all_steps(situation):
        if not step.is_whole:
            raise InvalidDocument(file, key, "either an act or a write", f"act {step.act!r}, write {step.write!r}")
    for index, step in enumerate(situation.take_back):
        if step.after_s != 0.0:
            raise InvalidDocument(
                file, f"take_back[{index}].after_s", "0, for what is taken back ends at once", step.after_s
            )
    if situation.candidate and not situation.test:
        raise InvalidDocument(file, "test", "the test that would prove a candidate")
    return situation


def all_steps(situation: Situation) -> list[tuple[str, Step]]:
    """Every step with its key."""
    found = [(f"script[{index}]", step) for index, step in enumerate(situation.script)]
    found += [(f"take_back[{index}]", step) for index, step in enumerate(situation.take_back)]
    for kind, ways in (("cure", situation.cure), ("wrong", situation.wrong)):
        found += [
            (f"{kind}[{number}].step[{index}]", step)
            for number, way in enumerate(ways)
            for index, step in enumerate(way.step)
        ]
    return found
