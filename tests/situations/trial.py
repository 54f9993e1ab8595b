"""One trial: a situation of one seed, recorded and classified."""

from __future__ import annotations

from simulator.situation import Situation, Way, load_situation
from tests.situations.classifier import Finding, classify
from tests.situations.recording import Recorder

# From so long after the onset, or after something was done about it, what is seen counts.
SETTLE_S = 5.0
# How long somebody waits for what they did to show: a while, a round of all lines, or minutes of speech.
WAIT_S = 12.0
_ROUND = frozenset({15})
_MINUTES = frozenset({11})
_MINUTES_S = 75.0


def found_in(name: str, seed: int) -> set[Finding]:
    """What the classifier finds in a situation of this seed."""
    recorder = begun(load_situation(name), seed)
    situation = recorder.situation
    return classify(recorder.recording(), situation.onset_s + SETTLE_S, situation.onset_s + situation.lasts_s)


def found_after(recorder: Recorder, way: Way) -> tuple[set[Finding], list[str]]:
    """What it still finds once somebody has done something about it, and what they could not do."""
    began_s = recorder.now_us / 1e6
    recorder.do(way.step)
    until_s = began_s + SETTLE_S + _wait_s(recorder)
    recorder.advance(until_s)
    return classify(recorder.recording(), began_s + SETTLE_S, until_s), recorder.play.problems


def begun(situation: Situation, seed: int) -> Recorder:
    """A situation recorded until it is certain to show."""
    recorder = Recorder(situation, seed)
    recorder.advance(situation.onset_s + situation.lasts_s)
    return recorder


def _wait_s(recorder: Recorder) -> float:
    numbers = set(recorder.situation.numbers)
    if numbers & _MINUTES:
        return _MINUTES_S
    return recorder.recording().plan.every_s + 2.0 if numbers & _ROUND else WAIT_S
