"""Alarms made into matters: what shares a cause is one matter, with the rows that it touches.

So far the cause of an alarm is its rule, and devices that fell silent at the same time share one. What hangs on a lost
device is suppressed by its rule already and makes no matter of its own. A matter keeps its id, and an alarm its matter,
for as long as any alarm of it lives: whoever works on it sees it shrink, not vanish and appear anew.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fleet.model.alarm import Alarm, AlarmState
from fleet.model.matter import Matter
from fleet.topology import Topology

CONTACT_LOST = "contact-lost"
CONTACT_LOST_TOGETHER = "contact-lost-together"
TOGETHER_WITHIN_US = 1_200_000
"""Devices that fell silent so close together share a cause: one heartbeat, for their phases differ, and two ticks."""
_VISIBLE = (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED, AlarmState.RETURNED_UNACKNOWLEDGED)


@dataclass(frozen=True, slots=True)
class _Group:
    """Alarms of one matter. ``began_utc_us`` is when the first of them began that was there when it was made."""

    matter_id: str
    began_utc_us: int
    alarms: list[Alarm]


def matters_of(alarms: Iterable[Alarm], topology: Topology, before: Iterable[Matter] = ()) -> tuple[Matter, ...]:
    """The matters of those alarms, by priority, then by when they began. ``before`` are those that were known."""
    order = {channel: index for index, channel in enumerate(topology.positions)}
    visible = sorted(
        (alarm for alarm in alarms if alarm.state in _VISIBLE), key=lambda alarm: (alarm.began_utc_us, alarm.address)
    )
    matters = (_matter(group, topology, order) for group in _groups(visible, before))
    return tuple(sorted(matters, key=lambda matter: (matter.priority, matter.began_utc_us, matter.matter_id)))


def _groups(visible: Iterable[Alarm], before: Iterable[Matter]) -> Iterable[_Group]:
    """The alarms by matter: each in the one that it was in before, then those that are new."""
    home = {alarm_id: matter.matter_id for matter in before for alarm_id in matter.alarms}
    groups: dict[str, _Group] = {}
    new: list[Alarm] = []
    for alarm in visible:
        matter_id = home.get(alarm.alarm_id)
        if matter_id is None:
            new.append(alarm)
        else:
            groups.setdefault(matter_id, _Group(matter_id, alarm.began_utc_us, [])).alarms.append(alarm)
    fell = sorted((group for group in groups.values() if _is_loss(group.alarms[0])), key=_began)
    for alarm in new:
        _join(alarm, groups, fell)
    return groups.values()


def _join(alarm: Alarm, groups: dict[str, _Group], fell: list[_Group]) -> None:
    """Put a new alarm into a matter. ``fell`` are those of lost devices, by when they began."""
    shared = _fell_together(alarm, fell) if _is_loss(alarm) else None
    if shared is not None:
        shared.alarms.append(alarm)
        return
    group = _Group(f"{alarm.alarm_id}@{alarm.began_utc_us}", alarm.began_utc_us, [alarm])
    groups[group.matter_id] = group
    if _is_loss(alarm):
        insort(fell, group, key=_began)


def _fell_together(alarm: Alarm, fell: list[_Group]) -> _Group | None:
    after = bisect_right(fell, alarm.began_utc_us, key=_began)
    for group in fell[max(0, after - 1) : after + 1]:
        if abs(alarm.began_utc_us - group.began_utc_us) <= TOGETHER_WITHIN_US:
            return group
    return None


def _is_loss(alarm: Alarm) -> bool:
    return alarm.rule_id == CONTACT_LOST


def _began(group: _Group) -> int:
    return group.began_utc_us


def _matter(group: _Group, topology: Topology, order: dict[str, int]) -> Matter:
    alarms = sorted(group.alarms, key=lambda alarm: (alarm.began_utc_us, alarm.address))
    first = alarms[0]
    rows = {channel for alarm in alarms for channel in topology.channels_of.get(alarm.address, ())}
    return Matter(
        matter_id=group.matter_id,
        cause=CONTACT_LOST_TOGETHER if len(alarms) > 1 else first.rule_id,
        root=first.address,
        rows=tuple(sorted(rows, key=lambda channel: (order.get(channel, len(order)), channel))),
        alarms=tuple(alarm.alarm_id for alarm in alarms),
        priority=min(alarm.priority for alarm in alarms),
        began_utc_us=first.began_utc_us,
        evidence=_evidence(alarms),
        acknowledged=all(alarm.state is AlarmState.ACKNOWLEDGED for alarm in alarms),
        returned=all(alarm.state is AlarmState.RETURNED_UNACKNOWLEDGED for alarm in alarms),
    )


def _evidence(alarms: Sequence[Alarm]) -> dict[str, float]:
    """The measured values: the greatest of each where several alarms share a cause, and how many they are."""
    if len(alarms) == 1:
        return dict(alarms[0].evidence)
    evidence = {"devices_count": float(len(alarms))}
    for alarm in alarms:
        for name, value in alarm.evidence.items():
            evidence[name] = max(value, evidence.get(name, value))
    return evidence
