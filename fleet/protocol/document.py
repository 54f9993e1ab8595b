"""The parts of the specification that are drawn from the code: the states, the table of turns, the errors."""

from __future__ import annotations

import re

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


_PARTS = {"states": state_diagram, "turns": turns_table, "errors": errors_table}


def with_generated_parts(text: str) -> str:
    """The specification with its generated parts as they should be; each stands between two comments.

    Raises KeyError when the text asks for a part that doesn't exist.
    """
    return _PART.sub(lambda match: f"{match[1]}{_PARTS[match['name']]()}\n{match[3]}", text)
