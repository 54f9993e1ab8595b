"""How the console itself is: what it takes in, how late it is, what waits."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DeviceTraffic:
    """What came from one device since the console started.

    ``frames`` counts frames of readings, those merged on the way in too. ``frame_age_s`` is how old the last frame was
    at the least when it was taken in, or None before the first.
    """

    device_id: str
    observations: int
    frames: int
    heartbeats: int
    frame_age_s: float | None


@dataclass(frozen=True, slots=True)
class Vitals:
    """Counts since the start, and depths now.

    ``loop_lag_s`` is how late the last tick came, ``loop_lag_worst_s`` the worst within the last ten seconds or more,
    twenty at the most.
    """

    devices: tuple[DeviceTraffic, ...]
    ticks: int
    loop_lag_s: float
    loop_lag_worst_s: float
    commits: int
    commit_failures: int
    batches_pending: int
    commands_handing_on: int
    subscriptions: int
    messages_waiting: int
