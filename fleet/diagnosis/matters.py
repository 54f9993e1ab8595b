"""Alarms made into matters: what shares a cause is one matter, with the rows that it touches.

Devices that fell silent at the same time share one, branches on one feed, devices on one clock, and what is wrong with
the sound of one carrier. What hangs on a lost device is suppressed by its rule already and makes no matter of its own.
A matter keeps its id, and an alarm its matter, for as long as any alarm of it lives: whoever works on it sees it
shrink, not vanish and appear anew.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from fleet.diagnosis.shared import CONTACT_LOST, ROOT_FIRST, Key, shares_of
from fleet.model.alarm import Alarm, AlarmState
from fleet.model.matter import Matter
from fleet.topology import Topology

TOGETHER = "-together"
"""What a cause ends with where several things have it at once."""
_VISIBLE = (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED, AlarmState.RETURNED_UNACKNOWLEDGED)
_RANK = {rule_id: rank for rank, rule_id in enumerate(ROOT_FIRST)}


@dataclass(frozen=True, slots=True)
class _Group:
    """Alarms of one matter. ``began_utc_us`` is when the first of them began that was there when it was made."""

    matter_id: str
    began_utc_us: int
    alarms: list[Alarm]
    names: set[str] = field(default_factory=set)


class _Gathering:
    """The groups so far, and under each key those that an alarm of that key may join, by when they began."""

    def __init__(self, topology: Topology) -> None:
        self._topology = topology
        self.groups: dict[str, _Group] = {}
        self._by_key: dict[Key, list[_Group]] = {}

    def keep(self, alarm: Alarm, matter_id: str) -> None:
        """Put an alarm into the matter that it was in before."""
        group = self.groups.get(matter_id)
        if group is None:
            group = self.groups[matter_id] = _Group(matter_id, alarm.began_utc_us, [])
        self._add(alarm, group)

    def join(self, alarm: Alarm) -> None:
        """Put a new alarm into the matter that it shares a cause with, or into one of its own."""
        group = self._like(alarm)
        if group is None:
            group = _Group(f"{alarm.alarm_id}@{alarm.began_utc_us}", alarm.began_utc_us, [])
            self.groups[group.matter_id] = group
        self._add(alarm, group)

    def _add(self, alarm: Alarm, group: _Group) -> None:
        shares = shares_of(alarm, self._topology)
        group.alarms.append(alarm)
        group.names.update({shares.name} - {""})
        known = self._by_key.setdefault(shares.key, [])
        if group not in known[max(0, bisect_right(known, group.began_utc_us, key=_began) - 2) :]:
            insort(known, group, key=_began)

    def _like(self, alarm: Alarm) -> _Group | None:
        shares = shares_of(alarm, self._topology)
        known = self._by_key.get(shares.key, [])
        after = bisect_right(known, alarm.began_utc_us, key=_began)
        for group in known[max(0, after - 1) : after + 1]:
            if abs(alarm.began_utc_us - group.began_utc_us) <= shares.within_us:
                return group
        return None


def matters_of(alarms: Iterable[Alarm], topology: Topology, before: Iterable[Matter] = ()) -> tuple[Matter, ...]:
    """The matters of those alarms, by priority, then by when they began. ``before`` are those that were known."""
    order = {channel: index for index, channel in enumerate(topology.positions)}
    visible = sorted(
        (alarm for alarm in alarms if alarm.state in _VISIBLE), key=lambda alarm: (alarm.began_utc_us, alarm.address)
    )
    matters = (_matter(group, topology, order) for group in _groups(visible, topology, before))
    return tuple(sorted(matters, key=lambda matter: (matter.priority, matter.began_utc_us, matter.matter_id)))


def _groups(visible: Iterable[Alarm], topology: Topology, before: Iterable[Matter]) -> Iterable[_Group]:
    """The alarms by matter: each in the one that it was in before, then those that are new."""
    home = {alarm_id: matter.matter_id for matter in before for alarm_id in matter.alarms}
    gathering = _Gathering(topology)
    new: list[Alarm] = []
    for alarm in visible:
        matter_id = home.get(alarm.alarm_id)
        if matter_id is None:
            new.append(alarm)
        else:
            gathering.keep(alarm, matter_id)
    for alarm in new:
        gathering.join(alarm)
    return gathering.groups.values()


def _began(group: _Group) -> int:
    return group.began_utc_us


def _matter(group: _Group, topology: Topology, order: dict[str, int]) -> Matter:
    alarms = sorted(group.alarms, key=lambda alarm: (alarm.began_utc_us, alarm.address))
    roots = _roots(alarms)
    rows = {channel for alarm in alarms for channel in topology.channels_of.get(alarm.address, ())}
    return Matter(
        matter_id=group.matter_id,
        cause=roots[0].rule_id + (TOGETHER if len(roots) > 1 else ""),
        root=roots[0].address,
        rows=tuple(sorted(rows, key=lambda channel: (order.get(channel, len(order)), channel))),
        alarms=tuple(alarm.alarm_id for alarm in alarms),
        priority=min(alarm.priority for alarm in alarms),
        began_utc_us=alarms[0].began_utc_us,
        evidence=_evidence(roots),
        acknowledged=all(alarm.state is AlarmState.ACKNOWLEDGED for alarm in alarms),
        returned=all(alarm.state is AlarmState.RETURNED_UNACKNOWLEDGED for alarm in alarms),
        shared=min(group.names, default=""),
    )


def _roots(alarms: Sequence[Alarm]) -> Sequence[Alarm]:
    """The alarms of the rule that names the cause."""
    rule_id = min((alarm.rule_id for alarm in alarms), key=lambda each: _RANK.get(each, len(_RANK)))
    return [alarm for alarm in alarms if alarm.rule_id == rule_id]


def _evidence(roots: Sequence[Alarm]) -> dict[str, float]:
    """The measured values: the greatest of each where several things have one cause, and how many they are."""
    if len(roots) == 1:
        return dict(roots[0].evidence)
    counted = "devices_count" if roots[0].rule_id == CONTACT_LOST else "things_count"
    evidence = {counted: float(len(roots))}
    for alarm in roots:
        for name, value in alarm.evidence.items():
            evidence[name] = max(value, evidence.get(name, value))
    return evidence
