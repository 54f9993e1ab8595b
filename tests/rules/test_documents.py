from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.errors import InvalidDocument
from fleet.model.address import Place
from fleet.model.inputs import DocumentChanged
from fleet.model.rule import Rule, Side, Suppressor, WhenAbsent
from fleet.rules.documents import check_rules, rules_from_toml, shipped_rules
from tests.small_fleet import Hand

GOOD = """
[[rule]]
rule_id = "quiet-pack"
place = "pack"
measure = "battery_minutes"
side = "below"
limit = 30.0
deadband = 5.0
on_delay_s = 10.0
off_delay_s = 10.0
priority = 3
"""


def test_the_shipped_rules_are_the_agreed_ones() -> None:
    lost, weak, *others = shipped_rules()
    assert {rule.rule_id: (rule.measure, rule.side.value, rule.limit) for rule in others} == {
        "deaf-branch": ("branch_deafness_db", "above", 15.0),
        "audio-damage": ("damaged_fraction", "above", 0.03),
        "pack-overload": ("overloaded_fraction", "above", 0.2),
        "wrong-key": ("without_key", "above", 0.5),
        "clock-slips": ("slips_per_min", "above", 2.0),
        "clock-unlocked": ("clock_locked", "below", 0.5),
        "low-cells": ("short_min", "above", 0.0),
        "cells-end": ("unplanned_min", "below", 30.0),
        "wake-overdue": ("wake_overdue_s", "above", 0.0),
    }
    assert lost == Rule(
        rule_id="contact-lost",
        place=Place.DEVICE,
        measure="contact_age_s",
        side=Side.ABOVE,
        limit=5.0,
        deadband=2.0,
        on_delay_s=0.0,
        off_delay_s=3.0,
        priority=3,
        priority_on_air=2,
    )
    assert weak == Rule(
        rule_id="weak-rf",
        place=Place.CARRIER,
        measure="better_branch_margin_db",
        side=Side.BELOW,
        limit=15.0,
        deadband=5.0,
        on_delay_s=1.0,
        off_delay_s=3.0,
        priority=2,
        when_absent=WhenAbsent.HOLD,
        suppressed_when=(Suppressor.ASLEEP, Suppressor.UNASSIGNED, Suppressor.CONTACT_LOST),
    )


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("rule = 3", "rule"),
        ("[[rule]\n", "document"),
        ("colour = 1\n" + GOOD, "colour"),
        ("[[rule]]\nrule_id = 'a'\n", "rule[0]"),
        (GOOD + "colour = 1\n", "rule[0].colour"),
        (GOOD.replace('"below"', '"beside"'), "rule[0]"),
        (GOOD.replace("30.0", '"30"'), "rule[0]"),
        (GOOD.replace("30.0", "nan"), "quiet-pack.limit"),
        (GOOD.replace("30.0", "inf"), "quiet-pack.limit"),
        (GOOD.replace("battery_minutes", "charm"), "quiet-pack.measure"),
        (GOOD.replace('"pack"', '"carrier"'), "quiet-pack.place"),
        (GOOD.replace("deadband = 5.0", "deadband = -1.0"), "quiet-pack.deadband"),
        (GOOD.replace("on_delay_s = 10.0", "on_delay_s = -1.0"), "quiet-pack.on_delay_s"),
        (GOOD.replace("off_delay_s = 10.0", "off_delay_s = 1e9"), "quiet-pack.off_delay_s"),
        (GOOD.replace("priority = 3", "priority = 4"), "quiet-pack.priority"),
        (GOOD.replace('"quiet-pack"', '"a:b"'), "a:b.rule_id"),
        (GOOD + GOOD, "quiet-pack.rule_id"),
    ],
)
def test_a_wrong_document_says_where(text: str, key: str) -> None:
    with pytest.raises(InvalidDocument) as wrong:
        rules_from_toml(text, "rules.toml")
    assert (wrong.value.file, wrong.value.key) == ("rules.toml", key)


def test_there_is_a_bound() -> None:
    (rule,) = rules_from_toml(GOOD, "rules.toml")
    with pytest.raises(InvalidDocument, match="at most 200"):
        check_rules(tuple(replace(rule, rule_id=f"r{n}") for n in range(201)), "rules.toml")


def test_a_wrong_set_of_rules_leaves_the_old_one_in_place() -> None:
    hand = Hand()
    (rule,) = rules_from_toml(GOOD, "rules.toml")
    with pytest.raises(InvalidDocument):
        hand.give(DocumentChanged(hand.at, (rule, rule), 2))
    assert hand.pipeline.rules() == shipped_rules()
    hand.give(DocumentChanged(hand.at, (rule,), 2))
    hand.connect("quay-1")
    hand.run(10.1, ["quay-1"], {"battery_minutes": 29.0})
    assert hand.alarm_states("quiet-pack:pack/quay-1-1") == ["unacknowledged"]
    assert hand.pipeline.alarms()[0].evidence == {"battery_minutes": 29.0}
