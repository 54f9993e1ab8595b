from __future__ import annotations

from collections import Counter
from typing import ClassVar

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from fleet.model.inputs import Acknowledge, OperatorAction, Restored
from fleet.pipeline import Pipeline
from tests.rules.model import EVERY_TRANSITION, PlainAlarm
from tests.small_fleet import Hand

ALARM = "weak-rf:quay-1/carrier/1"
FLOOR_DBM = -105.0
MARGINS_DB = st.sampled_from([14.9, 20.0, 2.0, 50.0, 15.0, 17.0, 19.9])
LENGTHS = st.sampled_from([11, 31, 1, 9, 10, 12, 21, 29, 30, 32])


class AlarmLife(RuleBasedStateMachine):
    """The pipeline against the plain model: samples, gaps, sleep, acknowledgement, restarts.

    ``reached`` counts the changes of state over all paths.
    """

    reached: ClassVar[Counter[tuple[str, str]]] = Counter()

    @initialize()
    def begin(self) -> None:
        self.model = PlainAlarm(limit=15.0, deadband=5.0, on_tenths=10, off_tenths=30)
        self.hand = Hand()
        self.shown = "normal"
        self._connect()

    def _connect(self) -> None:
        self.hand.produce("quay-1")
        self.hand.connect("quay-1", channels=1)
        self._sample(50.0, False)

    def _sample(self, margin_db: float, asleep: bool) -> None:
        self.hand.now_s = round(self.hand.now_s + 0.1, 1)
        self.hand.heartbeat("quay-1")
        self.hand.frame("quay-1", {"rf_dbm": FLOOR_DBM + margin_db, "asleep": float(asleep)})
        self.hand.tick()
        self.model.sample(round(self.hand.now_s * 10), margin_db, asleep)
        self._note()

    def _note(self) -> None:
        """Compare, and count what changed."""
        alarm = next((alarm for alarm in self.hand.pipeline.alarms() if alarm.alarm_id == ALARM), None)
        before, self.shown = self.shown, self.model.shown
        assert (alarm.state.value if alarm else "normal") == self.shown
        if before != self.shown:
            self.reached[before, self.shown] += 1

    @rule(margin_db=MARGINS_DB, tenths=LENGTHS)
    def awake(self, margin_db: float, tenths: int) -> None:
        for _ in range(tenths):
            self._sample(margin_db, False)

    @rule(margin_db=MARGINS_DB, tenths=LENGTHS)
    def asleep(self, margin_db: float, tenths: int) -> None:
        for _ in range(tenths):
            self._sample(margin_db, True)

    @rule(good_db=st.sampled_from([20.0, 50.0]), after=LENGTHS, times=st.integers(1, 2))
    def weak_and_back(self, good_db: float, after: int, times: int) -> None:
        for margin_db in ([2.0] * 12 + [good_db] * after) * times:
            self._sample(margin_db, False)

    @rule(seen=st.booleans(), wakes=st.booleans())
    def weak_and_asleep(self, seen: bool, wakes: bool) -> None:
        """Weak, perhaps acknowledged, then asleep; awake again while still weak, or well again in its sleep."""
        for _ in range(12):
            self._sample(2.0, False)
        if seen:
            self.acknowledge()
            self._note()
        self._sample(2.0, True)
        for _ in range(2 if wakes else 32):
            self._sample(2.0 if wakes else 50.0, not wakes)

    @rule(late=st.booleans())
    def weak_seen_and_well(self, late: bool) -> None:
        """Weak and well again, and acknowledged before or after."""
        for _ in range(12):
            self._sample(2.0, False)
        for _ in range(32 * late):
            self._sample(50.0, False)
        self.acknowledge()
        self._note()
        for _ in range(32 * (not late)):
            self._sample(50.0, False)

    @rule(margins_db=st.lists(MARGINS_DB, min_size=1, max_size=20))
    def flutter(self, margins_db: list[float]) -> None:
        for margin_db in margins_db:
            self._sample(margin_db, False)

    @rule(tenths=st.sampled_from([1, 2, 3, 15, 25, 49, 51, 60]))
    def gap(self, tenths: int) -> None:
        for _ in range(tenths):
            self.hand.now_s = round(self.hand.now_s + 0.1, 1)
            self.hand.heartbeat("quay-1")
            self.hand.tick()

    @rule()
    def acknowledge(self) -> None:
        self.hand.give(OperatorAction(self.hand.at, "operator", Acknowledge((ALARM,))))
        self.model.acknowledge()

    @rule()
    def restart(self) -> None:
        alarms = self.hand.pipeline.alarms()
        self.hand = Hand(Pipeline(epoch=self.hand.pipeline.epoch + 1), now_s=self.hand.now_s)
        self.hand.give(Restored(self.hand.at, (), alarms))
        self.model.restart(round(self.hand.now_s * 10) + 1)
        self._connect()

    @invariant()
    def agrees(self) -> None:
        self._note()


def test_alarms_follow_the_standard_and_every_change_of_state_is_reached() -> None:
    """The paths are always the same ones, so that a change that none of them reaches is no matter of luck."""
    AlarmLife.reached.clear()
    chosen = settings(
        max_examples=12,
        stateful_step_count=20,
        derandomize=True,
        deadline=None,
        print_blob=True,
        suppress_health_check=[HealthCheck.too_slow],
    )
    run_state_machine_as_test(AlarmLife, settings=chosen)
    assert set(AlarmLife.reached) == set(EVERY_TRANSITION)
