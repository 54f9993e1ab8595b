"""The parts of the specification that are drawn from the code: states, turns, fields and errors."""

from __future__ import annotations

import re

from fleet.model.fields import FIELDS, Field, Job, Kind
from fleet.protocol.codes import MEANINGS
from fleet.protocol.transitions import TRANSITIONS, Role, SessionState

_PART = re.compile(r"(<!-- generated: (?P<name>[a-z]+) -->\n).*?(<!-- end -->)", re.DOTALL)


def state_diagram() -> str:
    """The states and what moves between them, as a Mermaid diagram. Messages that change nothing are left out."""
    lines = ["```mermaid", "stateDiagram-v2", f"    [*] --> {SessionState.OPENING}"]
    for role in Role:
        for state, row in TRANSITIONS[role].items():
            moves = [(message, following) for message, following in row.items() if following is not state]
            lines += [f"    {state} --> {following}: {role} says {message}" for message, following in moves]
    lines += [f"    {state} --> [*]" for state in (SessionState.CLOSED, SessionState.FAULTED)]
    return "\n".join([*lines, "```"])


def turns_table() -> str:
    """Who may say what in which state, and the state after it."""
    lines = ["| state | says | message | state after |", "|---|---|---|---|"]
    for state in SessionState:
        for role in Role:
            by_next: dict[SessionState, list[str]] = {}
            for message, following in TRANSITIONS[role].get(state, {}).items():
                by_next.setdefault(following, []).append(message)
            lines += [f"| {state} | {role} | {', '.join(said)} | {following} |" for following, said in by_next.items()]
    return "\n".join(lines)


def errors_table() -> str:
    """The error codes, their words and meanings."""
    lines = ["| code | word | meaning |", "|---|---|---|"]
    lines += [f"| {code.value} | {code.word} | {meaning} |" for code, meaning in MEANINGS.items()]
    return "\n".join(lines)


_KEPT_BY_THE_CONSOLE = frozenset({"contact_age_s"})


def settings_table() -> str:
    """The known settings."""
    lines = ["| of | setting | kind | unit | bounds | what it is |", "|---|---|---|---|---|---|"]
    lines += [
        f"| {field.place} | `{field.name}` | {_kind(field)} | {field.unit} | {_bounds(field)} | {field.words} |"
        for field in FIELDS
        if field.job is Job.SETTING
    ]
    return "\n".join(lines)


def readings_table() -> str:
    """The known readings that a device may report."""
    lines = [
        "| of | reading | kind | unit | bounds or choices | what it is | merged |",
        "|---|---|---|---|---|---|---|",
    ]
    lines += [
        f"| {field.place} | `{field.name}` | {_kind(field)} | {field.unit} | {_choices(field) or _bounds(field)} "
        f"| {field.words} | {field.merge} |"
        for field in FIELDS
        if field.job is Job.READING and field.name not in _KEPT_BY_THE_CONSOLE
    ]
    return "\n".join(lines)


def _kind(field: Field) -> str:
    """The kind as an implementer meets it: a choice is text as a setting and its number as a reading."""
    return "choice" if field.kind is Kind.ENUM else field.kind.value


def _bounds(field: Field) -> str:
    if field.minimum is None or field.maximum is None:
        return ""
    return f"{field.minimum:.12g} to {field.maximum:.12g}"


def _choices(field: Field) -> str:
    return ", ".join(f"{number} {choice}" for number, choice in enumerate(field.choices))


_PARTS = {
    "states": state_diagram,
    "turns": turns_table,
    "settings": settings_table,
    "readings": readings_table,
    "errors": errors_table,
}


def with_generated_parts(text: str) -> str:
    """The specification with its generated parts as they should be; each stands between two comments.

    Raises KeyError when the text asks for a part that doesn't exist.
    """
    return _PART.sub(lambda match: f"{match[1]}{_PARTS[match['name']]()}\n{match[3]}", text)
