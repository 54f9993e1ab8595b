"""What a recording holds, in numbers: its length, what is missing, and its messages by kind."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass, field

from fleet.adapters.trace import ContactLine, End, Entry, Frame, Header, LayoutLine, Message, ObservationLine
from fleet.clock import MICROSECONDS_PER_SECOND

GAP_FROM_US = 2_000_000
"""Silence as long as makes a device late (contract: a value is uncertain after two seconds)."""
GAPS_LISTED = 10


@dataclass(frozen=True, slots=True)
class Silence:
    """A time without a word from the device, in seconds after the beginning."""

    began_s: float
    lasted_s: float


@dataclass(slots=True)
class TraceSummary:
    """Counts a recording's lines; ``frames_missing`` counts what the sequence numbers skip."""

    header: Header
    length_s: float = 0.0
    silences: list[Silence] = field(default_factory=list)
    sequence_gaps: int = 0
    frames_missing: int = 0
    messages: Counter[str] = field(default_factory=Counter)
    facts: Counter[str] = field(default_factory=Counter)
    ended: str = ""
    _heard_us: int = 0
    _sequences: dict[int, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._heard_us = self.header.monotonic_us

    def add(self, entry: Entry) -> None:
        """Take the next line into account."""
        self.length_s = self._seconds(entry.monotonic_us)
        match entry:
            case Message():
                self.messages[f"{entry.way} {_name_of(entry)}"] += 1
            case ContactLine():
                self.facts["contact" if entry.description is not None else "heartbeat"] += 1
            case ObservationLine():
                self._count_observation(entry)
            case LayoutLine():
                self.facts["layout"] += 1
            case End():
                self.ended = entry.reason
            case _:
                return
        self._heard(entry)

    def lines(self) -> list[str]:
        """The summary in words."""
        silences = [f"  {each.lasted_s:.1f} s from {each.began_s:.1f} s on" for each in self.silences[:GAPS_LISTED]]
        redacted = "free texts replaced" if self.header.redacted else "names as they were"
        return [
            f"{self.header.device_id}, recorded by Redpoll {self.header.software}, {redacted}",
            f"length: {self.length_s:.1f} s; ended: {self.ended or 'it breaks off'}",
            f"silences of {GAP_FROM_US / MICROSECONDS_PER_SECOND:g} s or more: {len(self.silences)}",
            *silences,
            f"sequence gaps: {self.sequence_gaps}, {self.frames_missing} frames missing",
            "messages:",
            *_counted(self.messages),
            "facts:",
            *_counted(self.facts),
        ]

    def _seconds(self, monotonic_us: int) -> float:
        return (monotonic_us - self.header.monotonic_us) / MICROSECONDS_PER_SECOND

    def _heard(self, entry: Entry) -> None:
        """A silence ends with a word from the device, or with the recording."""
        if isinstance(entry, Message) and entry.way == "sent":
            return
        silent_us = entry.monotonic_us - self._heard_us
        if silent_us >= GAP_FROM_US:
            self.silences.append(Silence(self._seconds(self._heard_us), silent_us / MICROSECONDS_PER_SECOND))
        self._heard_us = entry.monotonic_us

    def _count_observation(self, line: ObservationLine) -> None:
        counts = (("report", line.reports), ("answer", line.answers), ("notice", line.notices))
        self.facts.update({kind: len(each) for kind, each in counts if each})
        if line.frame is not None:
            self.facts["frame"] += 1
            self._count_frame(line.frame)

    def _count_frame(self, frame: Frame) -> None:
        before = self._sequences.get(frame.layout)
        self._sequences[frame.layout] = frame.sequence
        missing = 0 if before is None else frame.sequence - before - frame.coalesced
        if missing > 0:
            self.sequence_gaps += 1
            self.frames_missing += missing


def _name_of(message: Message) -> str:
    """The method of a request or notification, or what else the message is."""
    if message.text is None:
        return "withheld"
    try:
        body = json.loads(message.text)
    except (ValueError, RecursionError):
        return "no JSON"
    if not isinstance(body, dict):
        return "no message"
    method = body.get("method")
    if isinstance(method, str):
        return method[:64]
    return "error" if "error" in body else "result" if "result" in body else "no message"


def _counted(counts: Counter[str]) -> list[str]:
    return [f"  {count:>9,}  {name}" for name, count in sorted(counts.items())] or ["  none"]
