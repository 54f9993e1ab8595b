"""Two hundred rows at once, each on a random path of its own, each against the plain model."""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from fleet.model.inputs import Acknowledge, DocumentChanged, OperatorAction, Restored
from fleet.model.observation import Observation, ReadingFrame
from fleet.model.production import Position, Production
from fleet.pipeline import Pipeline
from tests.rules.model import EVERY_TRANSITION, PlainAlarm
from tests.small_fleet import HEALTHY, Hand

ROWS = 200
TENTHS = 800
RESTART_AT = (300, 600)
FLOOR_DBM = -105.0
MARGINS_DB = np.array([2.0, 14.9, 15.0, 17.0, 19.9, 20.0, 50.0, np.nan])
DWELLS = np.array([1, 3, 9, 10, 11, 12, 20, 29, 30, 31, 32, 51])
DEVICE = "crowd"


class Crowd:
    """The rows' paths: which margin, asleep or not, for how long still."""

    def __init__(self, generator: np.random.Generator) -> None:
        self._generator = generator
        self.margin_db: NDArray[np.float64] = np.full(ROWS, 50.0)
        self.asleep: NDArray[np.bool_] = np.zeros(ROWS, dtype=np.bool_)
        self._left = np.zeros(ROWS, dtype=np.int64)

    def step(self) -> None:
        due = self._left <= 0
        count = int(due.sum())
        self.margin_db[due] = self._generator.choice(MARGINS_DB, count)
        self.asleep[due] = self._generator.random(count) < 0.15
        self._left[due] = self._generator.choice(DWELLS, count)
        self._left -= 1

    def acknowledging(self) -> NDArray[np.intp]:
        return np.flatnonzero(self._generator.random(ROWS) < 0.02)


class Stage:
    """A pipeline with one large device, fed by arrays."""

    def __init__(self, hand: Hand) -> None:
        self.hand = hand
        hand.connect(DEVICE, channels=ROWS)
        layout = hand.layouts[DEVICE]
        self._healthy = np.array([HEALTHY[name] for _, name in layout.cells])
        self._level = np.array([i for i, (_, name) in enumerate(layout.cells) if name.startswith("rf_")])
        self._asleep = np.array([i for i, (_, name) in enumerate(layout.cells) if name == "asleep"])

    def tick(self, tenth: int, crowd: Crowd) -> None:
        hand = self.hand
        hand.now_s = tenth / 10
        hand.heartbeat(DEVICE)
        values = self._healthy.copy()
        values[self._level] = np.repeat(FLOOR_DBM + crowd.margin_db, self._level.size // ROWS)
        values[self._asleep] = crowd.asleep
        frame = ReadingFrame(hand.layouts[DEVICE], tenth, tenth * 100_000, values)
        hand.give(Observation(hand.at, DEVICE, frame=frame))
        hand.tick()

    def shown(self) -> list[str]:
        states = {alarm.alarm_id: alarm.state.value for alarm in self.hand.pipeline.alarms()}
        return [states.get(alarm_id(row), "normal") for row in range(ROWS)]


def alarm_id(row: int) -> str:
    return f"weak-rf:{DEVICE}/carrier/{row + 1}"


def produced(hand: Hand) -> Hand:
    positions = tuple(Position(n, f"Part {n}", "House", f"{DEVICE}/channel/{n}") for n in range(1, ROWS + 1))
    hand.give(DocumentChanged(hand.at, Production("Trial", ("House",), positions), 1))
    return hand


def test_a_crowd_of_rows_follows_the_model() -> None:
    reached = follow(seed=20_240)
    assert reached >= Counter(dict.fromkeys(EVERY_TRANSITION, 5)), reached


def follow(seed: int) -> Counter[tuple[str, str]]:
    """Compare every row with its model in every tenth of a second; the transitions that were reached, counted."""
    print(f"seed {seed}")
    crowd = Crowd(np.random.default_rng(seed))
    models = [PlainAlarm(limit=15.0, deadband=5.0, on_tenths=10, off_tenths=30) for _ in range(ROWS)]
    stage = Stage(produced(Hand()))
    reached: Counter[tuple[str, str]] = Counter()
    for tenth in range(1, TENTHS + 1):
        before = [model.shown for model in models]
        if tenth in RESTART_AT:
            stage = restarted(stage, models, tenth)
        crowd.step()
        stage.tick(tenth, crowd)
        for row, model in enumerate(models):
            if not np.isnan(crowd.margin_db[row]):
                model.sample(tenth, float(crowd.margin_db[row]), bool(crowd.asleep[row]))
            else:
                model.silence(tenth, bool(crowd.asleep[row]))
        for row in crowd.acknowledging():
            stage.hand.give(OperatorAction(stage.hand.at, "operator", Acknowledge((alarm_id(int(row)),))))
            models[row].acknowledge()
        after = [model.shown for model in models]
        assert stage.shown() == after, f"seed {seed}, tenth {tenth}"
        reached.update(pair for pair in zip(before, after, strict=True) if pair[0] != pair[1])
    return reached


def restarted(stage: Stage, models: list[PlainAlarm], tenth: int) -> Stage:
    alarms = stage.hand.pipeline.alarms()
    hand = produced(Hand(Pipeline(epoch=2), now_s=stage.hand.now_s))
    hand.give(Restored(hand.at, (), alarms))
    for model in models:
        model.restart(tenth)
    return Stage(hand)
