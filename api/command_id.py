"""The header by which a client names its command, so that a repeat is harmless."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import Header

from api.desk import Desk
from api.problems import refusal
from fleet.ids import COMMAND_ID_PATTERN

CommandId = Annotated[str | None, Header(description="makes a repeat harmless for ten minutes")]

_COMMAND_ID = re.compile(COMMAND_ID_PATTERN)


def command_id_of(desk: Desk, given: str | None) -> str:
    """The id that was given, or a fresh one. Raises RequestRefused (400) for one that isn't an id."""
    if given is None:
        return desk.make_command_id()
    if _COMMAND_ID.fullmatch(given) is None:
        raise refusal("bad-header", "Command-Id must be 1 to 64 of A-Z a-z 0-9 _ -")
    return given
