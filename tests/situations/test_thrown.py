"""Situations thrown on a whole production, on other targets than their documents', told by the same classifier."""

from __future__ import annotations

import msgspec
import pytest

from simulator.situation import On, load_situation
from tests.promises.promise import TIER, Tier
from tests.situations.classifier import classify
from tests.situations.recording import Recorder
from tests.situations.trial import SETTLE_S

STAGE = "tern-rock"
SEEDS = {Tier.TEST: (4_001,), Tier.SOAK: tuple(range(4_001, 4_011)), Tier.LONG: tuple(range(4_001, 4_041))}[TIER]
# Those whose signature wants no planned lines, which this production doesn't write into its scenario.
THROWN = [
    ("01-deaf-branch", On(path="Quay north", channel="quay-1/channel/1"), "Quay north"),
    # Not in the house, where neighbours 600 kHz away fill the gap that a carrier leaves to 7 dB above the floor.
    ("02-cells-dead", On(channel="quay-1/channel/1", other="house-1/channel/1"), "quay-1/carrier/1"),
    ("05-same-frequency-next-door", On(channel="house-4/channel/1", other="house-1/channel/1"), "house-4/carrier/1"),
    ("06-block-lost", On(block_hz=522_000_000, path="House left"), ""),
    ("08-overload", On(channel="house-3/channel/2", other="house-1/channel/1"), "House left"),
    ("13-wrong-key", On(channel="house-3/channel/2", other="house-1/channel/1"), "house-3/channel/2"),
    ("14-two-on-one-frequency", On(channel="house-5/channel/1", other="house-8/channel/2"), "house-5/carrier/1"),
    ("18-two-clock-leaders", On(rack="House rack", channel="house-1/channel/1"), "House rack"),
    ("19-network-lost", On(rack="Quay rack", channel="quay-1/channel/1"), "Quay rack"),
    ("20-half-a-retune", On(channel="house-4/channel/2", other="house-1/channel/1"), "house-4/carrier/2"),
]


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("name", "on", "place"), THROWN, ids=[name for name, _, _ in THROWN])
def test_it_shows_where_it_was_thrown(name: str, on: On, place: str, seed: int) -> None:
    print(f"{name}: seed {seed}")
    situation = load_situation(name)
    found = Recorder(msgspec.structs.replace(situation, stage=STAGE, on=_with(situation.on, on)), seed)
    until_s = situation.onset_s + situation.lasts_s
    found.advance(until_s)
    findings = classify(found.recording(), situation.onset_s + SETTLE_S, until_s)
    assert found.play.problems == []
    assert (situation.numbers[0], place) in {(each.number, place and each.place) for each in findings}


def _with(default: On, on: On) -> On:
    """The named targets, and the document's where none is named."""
    said = {name: value for name, value in msgspec.structs.asdict(on).items() if value}
    return msgspec.structs.replace(default, **said)
