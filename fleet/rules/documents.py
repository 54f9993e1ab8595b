"""Rule documents: TOML in, rules out, strictly; and the rules that come with the program."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from typing import Any

import msgspec

from fleet.errors import InvalidDocument
from fleet.model.rule import DELAY_MAXIMUM_S, Rule
from fleet.rules.measures import MEASURES

RULES_MAXIMUM = 200
PRIORITIES = (1, 2, 3)
_SHIPPED = "shipped.toml"


def shipped_rules() -> tuple[Rule, ...]:
    """The rules that come with the program, root causes first."""
    return rules_from_toml(files("fleet.rules").joinpath(_SHIPPED).read_text("utf-8"), _SHIPPED)


def rules_from_toml(text: str, file: str) -> tuple[Rule, ...]:
    """The rules of a document.

    Raises InvalidDocument, naming file, key and what was expected; nothing is read by halves.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InvalidDocument(file, "document", f"TOML ({error})") from error
    unknown = set(document) - {"rule"}
    if unknown:
        raise InvalidDocument(file, min(unknown), "no other key than [[rule]]")
    tables = document.get("rule", [])
    if not isinstance(tables, list):
        raise InvalidDocument(file, "rule", "a list of [[rule]] tables")
    rules = tuple(_rule(table, file, f"rule[{index}]") for index, table in enumerate(tables))
    check_rules(rules, file)
    return rules


def check_rules(rules: tuple[Rule, ...], file: str) -> None:
    """Refuse a set of rules that can't be evaluated.

    Raises InvalidDocument.
    """
    if len(rules) > RULES_MAXIMUM:
        raise InvalidDocument(file, "rule", f"at most {RULES_MAXIMUM} rules", len(rules))
    seen: set[str] = set()
    for rule in rules:
        if rule.rule_id in seen:
            raise InvalidDocument(file, f"{rule.rule_id}.rule_id", "an id used once")
        seen.add(rule.rule_id)
        for key, expected, found in _problems(rule):
            raise InvalidDocument(file, f"{rule.rule_id}.{key}", expected, found)


def _rule(table: object, file: str, key: str) -> Rule:
    if not isinstance(table, dict):
        raise InvalidDocument(file, key, "a table", table)
    body: dict[str, Any] = table
    unknown = set(body) - set(Rule.__dataclass_fields__)
    if unknown:
        known = ", ".join(Rule.__dataclass_fields__)
        raise InvalidDocument(file, f"{key}.{min(unknown)}", f"one of {known}")
    try:
        return msgspec.convert(body, Rule)
    except msgspec.ValidationError as error:
        raise InvalidDocument(file, key, str(error)) from error


def _problems(rule: Rule) -> list[tuple[str, str, object]]:
    measure = MEASURES.get(rule.measure)
    finite = abs(rule.limit) < float("inf")
    priorities = (rule.priority, rule.priority if rule.priority_on_air is None else rule.priority_on_air)
    checks: list[tuple[bool, str, str, object]] = [
        (bool(rule.rule_id) and ":" not in rule.rule_id, "rule_id", "a name without a colon", rule.rule_id),
        (measure is not None, "measure", f"one of {', '.join(sorted(MEASURES))}", rule.measure),
        (measure is None or measure.place is rule.place, "place", "the place of its measure", rule.place.value),
        (finite, "limit", "a finite number", rule.limit),
        (0.0 <= rule.deadband < float("inf"), "deadband", "0 or more", rule.deadband),
        (0.0 <= rule.on_delay_s <= DELAY_MAXIMUM_S, "on_delay_s", f"0 to {DELAY_MAXIMUM_S:g}", rule.on_delay_s),
        (0.0 <= rule.off_delay_s <= DELAY_MAXIMUM_S, "off_delay_s", f"0 to {DELAY_MAXIMUM_S:g}", rule.off_delay_s),
        (all(each in PRIORITIES for each in priorities), "priority", "1, 2 or 3", priorities),
    ]
    return [(key, expected, found) for holds, key, expected, found in checks if not holds]
