"""Matters: what needs somebody, root cause first."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Matter:
    """One thing that needs a person, made of one or several alarms with a shared cause.

    ``cause`` is a message code that the catalogue of words turns into a sentence; ``root`` is the address where the
    cause sits, ``rows`` the channel addresses it touches. ``evidence`` are measured values, units last. ``shared``
    names the antenna path or the rack that several of them have in common, where the production names it.
    """

    matter_id: str
    cause: str
    root: str
    rows: tuple[str, ...]
    alarms: tuple[str, ...]
    priority: int
    began_utc_us: int
    evidence: dict[str, float]
    acknowledged: bool
    returned: bool
    shared: str = ""
