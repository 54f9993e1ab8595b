"""What a console and the process of a job say to one another: one JSON object a line, each way."""

from __future__ import annotations

from typing import Any

import msgspec

from fleet.model.job import BestSoFar

LINE_BYTES_MAXIMUM = 8 * 1_048_576
"""A thousand carriers with their spares come to a tenth of it; a process that says more is ended."""
STOP = b"stop"
"""What the console says to a process that shall come to its end with the best it has."""


class Asked(msgspec.Struct, frozen=True, tag="asked"):
    """The work by its name, and what it is given: plain JSON values."""

    work: str
    arguments: dict[str, Any]


class Told(msgspec.Struct, frozen=True, tag="told"):
    """How far the work is, from 0 to 1 and in words; ``best`` is left out where it is the same as before."""

    progress: float
    words: str
    best: BestSoFar | None = None


class Done(msgspec.Struct, frozen=True, tag="done"):
    """The work came to its end, with ``best`` where it searched; ``result`` is its own affair."""

    words: str
    result: dict[str, Any]
    best: BestSoFar | None = None


class Broken(msgspec.Struct, frozen=True, tag="broken"):
    """The work can't be done, and why. ``ours`` says that the reason is a mistake of the software."""

    words: str
    ours: bool = False


Answer = Told | Done | Broken


def line_of(message: Asked | Answer) -> bytes:
    """A message as it is sent."""
    return msgspec.json.encode(message) + b"\n"


def answer_of(line: bytes) -> Answer:
    """What a process said. Raises ValueError for a line that is no answer."""
    answer: Answer = msgspec.json.decode(line, type=Answer)
    return answer


def asked_of(line: bytes) -> Asked:
    """What a console asked for. Raises ValueError."""
    return msgspec.json.decode(line, type=Asked)
