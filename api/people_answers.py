"""What the API answers about sessions and tokens, beside the facts of ``fleet.model.person``."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.model.person import SessionFacts, TokenFacts


@dataclass(frozen=True, slots=True)
class OpenSession:
    """One open session; ``own`` marks the one that asks."""

    session: SessionFacts
    own: bool


@dataclass(frozen=True, slots=True)
class NewToken:
    """A token that was just made. ``secret`` is shown this once: nobody can read it again."""

    secret: str
    token: TokenFacts
