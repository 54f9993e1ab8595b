"""Revisions as entity tags: what a device calls a revision, made fit for a header and back."""

from __future__ import annotations

import re
from typing import Annotated
from urllib.parse import quote, unquote

from fastapi import Header

from api.problems import refusal

IfMatch = Annotated[str | None, Header(description="the ETag that was read")]

_STRONG_TAG = re.compile(r'"([\x21\x23-\x7e]{0,200})"')
_UNCHANGED = ":._-~+"


def entity_tag(revision: str) -> str:
    """The ETag of a revision. What a header may not hold is percent-encoded; a device chooses its own words."""
    return f'"{quote(revision, safe=_UNCHANGED)}"'


def seen_revision(if_match: str | None) -> str:
    """The one revision that If-Match names.

    Raises RequestRefused: 428 without the header or with ``*``, which names none; 400 when it isn't one strong tag.
    """
    if if_match is None or if_match.strip() == "*":
        raise refusal("revision-missing", "Read it first and send its ETag as If-Match.")
    found = _STRONG_TAG.fullmatch(if_match.strip())
    if found is None:
        raise refusal("bad-header", "If-Match must be one strong entity tag, in double quotes.")
    return unquote(found.group(1))
