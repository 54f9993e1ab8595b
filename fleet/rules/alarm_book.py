"""All alarms that aren't normal, and what may happen to each by the table of ``alarm_life``."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from fleet.errors import NotFound
from fleet.model.alarm import Alarm, AlarmState
from fleet.model.event import AlarmChanged
from fleet.model.moment import Moment
from fleet.rules.alarm_life import AlarmTrigger, next_state


@dataclass(frozen=True, slots=True)
class Raising:
    """What is known when a condition begins."""

    rule_id: str
    address: str
    priority: int
    began_utc_us: int
    evidence: dict[str, float]


def alarm_id_of(rule_id: str, address: str) -> str:
    """The id of the alarm of that rule at that address."""
    return f"{rule_id}:{address}"


class AlarmBook:
    """The alarms by id; at most one for each rule and row."""

    def __init__(self) -> None:
        self._alarms: dict[str, Alarm] = {}

    def get(self, alarm_id: str) -> Alarm | None:
        """That alarm, or None while it is normal."""
        return self._alarms.get(alarm_id)

    def all(self) -> tuple[Alarm, ...]:
        """Every alarm that isn't normal."""
        return tuple(self._alarms.values())

    def restore(self, alarms: Iterable[Alarm]) -> None:
        """Take in what the journal remembers; nothing of it is an event."""
        self._alarms.update((alarm.alarm_id, alarm) for alarm in alarms if alarm.state is not AlarmState.NORMAL)

    def begin(self, at: Moment, raising: Raising) -> tuple[AlarmChanged, ...]:
        """A condition began."""
        alarm_id = alarm_id_of(raising.rule_id, raising.address)
        before = self._alarms.get(alarm_id)
        state = next_state(AlarmState.NORMAL if before is None else before.state, AlarmTrigger.BEGINS)
        if state is None:
            return ()
        alarm = Alarm(
            alarm_id=alarm_id,
            rule_id=raising.rule_id,
            address=raising.address,
            state=state,
            priority=raising.priority,
            began_utc_us=raising.began_utc_us,
            raised_utc_us=at.utc_us,
            evidence=raising.evidence,
            raised_count=1 if before is None else before.raised_count + 1,
        )
        return self._keep(at, alarm)

    def end(self, at: Moment, alarm_id: str) -> tuple[AlarmChanged, ...]:
        """A condition ended."""
        return self._step(at, alarm_id, AlarmTrigger.ENDS, cleared_utc_us=at.utc_us)

    def suppress(self, at: Moment, alarm_id: str) -> tuple[AlarmChanged, ...]:
        """Circumstances keep the alarm quiet."""
        return self._step(at, alarm_id, AlarmTrigger.SUPPRESS)

    def release(self, at: Moment, alarm_id: str) -> tuple[AlarmChanged, ...]:
        """Nothing keeps the alarm quiet any more."""
        alarm = self._alarms.get(alarm_id)
        acknowledged = alarm is not None and alarm.acknowledged_utc_us is not None
        return self._step(
            at,
            alarm_id,
            AlarmTrigger.RELEASE_ACKNOWLEDGED if acknowledged else AlarmTrigger.RELEASE_UNACKNOWLEDGED,
        )

    def reprioritise(self, at: Moment, alarm_id: str, priority: int) -> tuple[AlarmChanged, ...]:
        """The alarm's row went on air or off."""
        alarm = self._alarms.get(alarm_id)
        if alarm is None or alarm.priority == priority:
            return ()
        return self._keep(at, replace(alarm, priority=priority))

    def acknowledge(
        self, at: Moment, person: str, alarm_ids: Iterable[str], may_exist: Callable[[str], bool]
    ) -> tuple[AlarmChanged, ...]:
        """Somebody acknowledges alarms; those that need none, as they cleared meanwhile, are passed over.

        Raises NotFound, and acknowledges nothing, when one can't exist.
        """
        ids = tuple(dict.fromkeys(alarm_ids))
        for alarm_id in ids:
            if alarm_id not in self._alarms and not may_exist(alarm_id):
                raise NotFound("alarm", alarm_id)
        events: list[AlarmChanged] = []
        for alarm_id in ids:
            events += self._step(at, alarm_id, AlarmTrigger.ACKNOWLEDGE, by=person)
        return tuple(events)

    def drop(self, at: Moment, alarm_id: str) -> tuple[AlarmChanged, ...]:
        """The alarm's rule is gone: so is the alarm."""
        alarm = self._alarms[alarm_id]
        return self._keep(at, replace(alarm, state=AlarmState.NORMAL, cleared_utc_us=at.utc_us))

    def _step(
        self, at: Moment, alarm_id: str, trigger: AlarmTrigger, *, by: str = "", cleared_utc_us: int | None = None
    ) -> tuple[AlarmChanged, ...]:
        alarm = self._alarms.get(alarm_id)
        state = None if alarm is None else next_state(alarm.state, trigger)
        if alarm is None or state is None:
            return ()
        alarm = replace(alarm, state=state)
        if cleared_utc_us is not None:
            alarm = replace(alarm, cleared_utc_us=cleared_utc_us)
        if trigger is AlarmTrigger.ACKNOWLEDGE:
            alarm = replace(alarm, acknowledged_by=by, acknowledged_utc_us=at.utc_us)
        return self._keep(at, alarm, by)

    def _keep(self, at: Moment, alarm: Alarm, by: str = "") -> tuple[AlarmChanged, ...]:
        if alarm.state is AlarmState.NORMAL:
            self._alarms.pop(alarm.alarm_id, None)
        else:
            self._alarms[alarm.alarm_id] = alarm
        return (AlarmChanged(at, alarm, by),)
