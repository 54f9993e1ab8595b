"""Golden transcripts: conversations as they travel, and what each end makes of them.

The first line of a file names it and may say after which other transcript it goes on. Each further line is one
message: ``data`` as JSON or ``raw`` as text; ``hears`` what the end it is sent to hands to its caller; ``state`` of
both ends afterwards; ``raises`` the error at the end it is sent to; ``automatic`` when a device's session sends it by
itself; ``outsider`` when it belongs to requests that no console of ours makes.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

import msgspec

WIRE = Path(__file__).parent.parent / "wire"


class Line(msgspec.Struct, frozen=True, rename={"speaker": "from"}, forbid_unknown_fields=True):
    """One message of a transcript."""

    speaker: Literal["console", "device"]
    hears: list[str]
    data: dict[str, Any] | None = None
    raw: str = ""
    state: str = ""
    raises: str = ""
    automatic: bool = False
    outsider: bool = False

    @property
    def message(self) -> bytes:
        """The bytes that travel."""
        return self.raw.encode() if self.data is None else msgspec.json.encode(self.data)


class Head(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The first line of a transcript."""

    transcript: str
    says: str
    after: str = ""


def names() -> list[str]:
    """Every transcript there is."""
    return sorted(path.stem for path in WIRE.glob("*.jsonl"))


def head(name: str) -> Head:
    """The first line."""
    return msgspec.json.decode(_lines(name)[0], type=Head)


def transcript(name: str, *, whole: bool = True) -> list[Line]:
    """The messages of a transcript, those of the one before it first when ``whole``."""
    before = transcript(head(name).after) if whole and head(name).after else []
    return before + [msgspec.json.decode(line, type=Line) for line in _lines(name)[1:]]


def _lines(name: str) -> list[str]:
    return (WIRE / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()
