"""Acts under way: how long each takes, what it waits for, what it shows meanwhile and what it brings."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from fleet.model.fields import Value
from fleet.protocol.messages import Levels, Outcome

Waiting = Literal["accepted", "waiting for wake", "waiting for a hand"]


def _nothing() -> None:
    """Nothing happens."""


def _no_result() -> Mapping[str, Value]:
    return {}


def _no_levels(fraction: float) -> Levels | None:
    del fraction
    return None


def _ready() -> bool:
    return True


@dataclass(slots=True)
class Performance:
    """One act, from being taken to its end.

    ``ready`` says whether what it waits for is there; a hand is played by ``handed``. ``finish`` gives its result, or
    an outcome other than done. ``words`` are for people while it runs, ``waiting_words`` while it waits.
    """

    lasts_us: int
    state: Waiting = "accepted"
    ready: Callable[[], bool] = _ready
    words: str = ""
    waiting_words: str = ""
    begin: Callable[[], None] = _nothing
    levels: Callable[[float], Levels | None] = _no_levels
    finish: Callable[[], Mapping[str, Value] | Outcome] = _no_result
    clear: Callable[[], None] = _nothing
    shows_progress: bool = False
    cancellable: bool = True
    handed: bool = field(default=False, init=False)

    def may_begin(self) -> bool:
        """Whether it waits no longer."""
        return self.handed if self.state == "waiting for a hand" else self.ready()
