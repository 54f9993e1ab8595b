"""One trial: a situation of one seed, recorded and classified, beside what there was to be found."""

from __future__ import annotations

from dataclasses import dataclass

from simulator.situation import Situation, Way, load_situation
from tests.situations.classifier import Finding, classify
from tests.situations.recording import Recorder

# From so long after the onset, or after something was done about it, what is seen counts.
SETTLE_S = 5.0
# How long somebody waits for what they did to show: a while, a round of all lines, or minutes of speech.
WAIT_S = 12.0
_DISTRIBUTION = 9
_ROUND = frozenset({15})
_MINUTES = frozenset({11})
_MINUTES_S = 75.0


@dataclass(frozen=True, slots=True)
class Trial:
    """What was found, and what should have been: the same situations in the same places."""

    found: frozenset[Finding]
    due: frozenset[Finding]

    @property
    def is_right(self) -> bool:
        """Whether all of it was found where it is, and nothing besides."""
        return self.found == self.due


def trial_of(name: str, seed: int) -> Trial:
    """What the classifier finds in a situation of this seed, beside what it should."""
    recorder = begun(load_situation(name), seed)
    situation = recorder.situation
    found = classify(recorder.recording(), situation.onset_s + SETTLE_S, situation.onset_s + situation.lasts_s)
    return Trial(frozenset(found), due_in(recorder))


def due_in(recorder: Recorder) -> frozenset[Finding]:
    """What there is to be found, and where: on a path, a rack, a distribution, a carrier or a channel."""
    numbers = recorder.situation.numbers
    return frozenset(Finding(number, place) for number in numbers for place in _places(recorder, number))


def _places(recorder: Recorder, number: int) -> tuple[str, ...]:
    names = recorder.play.names
    intruded = "fifth.carrier" if len(recorder.situation.numbers) > 1 else "channel.carrier"
    falls_on = {1: ("path",), 8: ("channel.path",), 14: (intruded,), 15: ("channel", "other")}
    falls_on |= dict.fromkeys((18, 19), ("rack",)) | dict.fromkeys((2, 3, 4, 5, 6, 7, 20), ("channel.carrier",))
    if number == _DISTRIBUTION:
        return (recorder.fleet.world.feeds.by_antenna[str(names["channel.path"])].distribution,)
    return tuple(str(names[name]) for name in falls_on.get(number, ("channel",)))


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
