"""What is told of a document's history."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class DocumentRevision:
    """One revision of a document: who wrote it and when; None for what came with the software."""

    revision: int
    by: str
    at_utc_us: int | None
