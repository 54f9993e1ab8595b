"""What a receiver remembers of commands: answers given, writes that wait for a pack to wake, when it took the last."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from fleet.model.fields import Value
from fleet.protocol.codes import ErrorCode

REMEMBER_US = 600_000_000
REMEMBERED_MAXIMUM = 4096
WAITING_MAXIMUM = 64


@dataclass(frozen=True, slots=True)
class Taken:
    """The write was taken."""

    state: Literal["accepted", "waiting for wake", "waiting for a hand"]


@dataclass(frozen=True, slots=True)
class Refused:
    """The write was refused; nothing was changed."""

    code: ErrorCode
    words: str
    data: Mapping[str, object] = field(default_factory=dict)


Reply = Taken | Refused


@dataclass(frozen=True, slots=True)
class WaitingWrite:
    """A write that is kept until its pack wakes, or until a hand does it.

    ``seen`` are the values that its fields had when it was taken.
    """

    command_id: str
    address: str
    changes: Mapping[str, Value]
    seen: Mapping[str, Value]
    for_hand: bool = False


class Pace:
    """When each setting was last written; a receiver has a bounded number of them."""

    def __init__(self) -> None:
        self._written_us: dict[tuple[str, str], int] = {}

    def wait_us(self, address: str, intervals_us: Mapping[str, int], now_us: int) -> int:
        """How long a write of these settings, given with their shortest intervals, is too early; 0 when it isn't."""
        ready_us = [
            self._written_us[address, field] + interval_us
            for field, interval_us in intervals_us.items()
            if (address, field) in self._written_us
        ]
        return max(0, max(ready_us, default=now_us) - now_us)

    def note(self, address: str, fields: Iterable[str], now_us: int) -> None:
        """These were written now."""
        self._written_us.update(dict.fromkeys(((address, field) for field in fields), now_us))


class CommandMemory:
    """Answers by command id, for ten minutes, the newest 4,096: a repeat has the same answer and no second effect."""

    def __init__(self) -> None:
        self._answers: OrderedDict[str, tuple[int, Reply]] = OrderedDict()

    def recall(self, command_id: str, now_us: int) -> Reply | None:
        """The answer that was given, if it isn't forgotten yet."""
        while self._answers and next(iter(self._answers.values()))[0] + REMEMBER_US <= now_us:
            self._answers.popitem(last=False)
        found = self._answers.get(command_id)
        return None if found is None else found[1]

    def remember(self, command_id: str, answer: Reply, now_us: int) -> None:
        """Keep an answer; the oldest goes when there are too many."""
        self._answers[command_id] = (now_us, answer)
        if len(self._answers) > REMEMBERED_MAXIMUM:
            self._answers.popitem(last=False)
