"""Alarms made into matters: what shares a cause is one matter, with the rows that it touches.

So far the cause of an alarm is its rule, and devices that fell silent at the same time share one. What hangs on a lost
device is suppressed by its rule already and makes no matter of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fleet.model.alarm import Alarm, AlarmState
from fleet.model.matter import Matter
from fleet.topology import Topology

CONTACT_LOST = "contact-lost"
CONTACT_LOST_TOGETHER = "contact-lost-together"
TOGETHER_WITHIN_US = 1_200_000
"""Devices that fell silent so close together share a cause: one heartbeat, for their phases differ, and two ticks."""
_VISIBLE = (AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED, AlarmState.RETURNED_UNACKNOWLEDGED)


def matters_of(alarms: Iterable[Alarm], topology: Topology) -> tuple[Matter, ...]:
    """The matters of those alarms, by priority, then by when they began."""
    order = {channel: index for index, channel in enumerate(topology.positions)}
    visible = [alarm for alarm in alarms if alarm.state in _VISIBLE]
    lost = [alarm for alarm in visible if alarm.rule_id == CONTACT_LOST]
    groups = [*_together(lost), *([alarm] for alarm in visible if alarm.rule_id != CONTACT_LOST)]
    matters = (_matter(group, topology, order) for group in groups)
    return tuple(sorted(matters, key=lambda matter: (matter.priority, matter.began_utc_us, matter.matter_id)))


def _together(alarms: list[Alarm]) -> list[list[Alarm]]:
    """Groups of alarms that began within ``TOGETHER_WITHIN_US`` of the first of their group."""
    groups: list[list[Alarm]] = []
    for alarm in sorted(alarms, key=lambda alarm: (alarm.began_utc_us, alarm.address)):
        if groups and alarm.began_utc_us - groups[-1][0].began_utc_us <= TOGETHER_WITHIN_US:
            groups[-1].append(alarm)
        else:
            groups.append([alarm])
    return groups


def _matter(alarms: Sequence[Alarm], topology: Topology, order: dict[str, int]) -> Matter:
    first = alarms[0]
    rows = {channel for alarm in alarms for channel in topology.channels_of.get(alarm.address, ())}
    returned = all(alarm.state is AlarmState.RETURNED_UNACKNOWLEDGED for alarm in alarms)
    return Matter(
        matter_id=f"{first.rule_id}:{first.address}",
        cause=CONTACT_LOST_TOGETHER if len(alarms) > 1 else first.rule_id,
        root=first.address,
        rows=tuple(sorted(rows, key=lambda channel: (order.get(channel, len(order)), channel))),
        alarms=tuple(alarm.alarm_id for alarm in alarms),
        priority=min(alarm.priority for alarm in alarms),
        began_utc_us=first.began_utc_us,
        evidence=_evidence(alarms),
        acknowledged=all(alarm.state is AlarmState.ACKNOWLEDGED for alarm in alarms),
        returned=returned,
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
