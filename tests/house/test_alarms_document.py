"""The operator's table of alarms names every rule that is shipped, with its limit and priorities."""

from __future__ import annotations

import re
from pathlib import Path

from fleet.model.rule import Rule
from fleet.rules.documents import shipped_rules

OPERATOR = Path(__file__).parents[2] / "docs" / "operator.md"
ROW = re.compile(r"^\| [^|]+ \| `([a-z-]+)` \| ([^|]+) \| ([0-9, ]+) \|$", re.MULTILINE)
IN_WORDS = {0.03: "3 %", 0.2: "a fifth", 0.0: "", 0.5: ""}


def priorities(rule: Rule) -> str:
    both = (rule.priority, rule.priority if rule.priority_on_air is None else rule.priority_on_air)
    return ", ".join(dict.fromkeys(str(each) for each in both))


def test_the_table_is_that_of_the_shipped_rules() -> None:
    rows = {rule_id: (when, priority) for rule_id, when, priority in ROW.findall(OPERATOR.read_text("utf-8"))}
    shipped = {rule.rule_id: rule for rule in shipped_rules()}
    assert rows.keys() == shipped.keys()
    for rule_id, rule in shipped.items():
        when, priority = rows[rule_id]
        assert priority == priorities(rule), rule_id
        limit = IN_WORDS.get(rule.limit, f"{rule.limit:g}")
        assert limit in when or (limit == "2" and "two" in when), rule_id
