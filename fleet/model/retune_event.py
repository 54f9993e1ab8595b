"""What is journalled of retunes, beside the commands that they are made of."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fleet.model.moment import Moment
from fleet.model.retune import RetuneState, RetuneStep


@dataclass(frozen=True, slots=True)
class RetuneChanged:
    """A retune took another state, asks something (``prompt`` is the question's code), or a step of it changed.

    The step is carried whole; None where none did. ``by`` is the person in whose name it is done.
    """

    kind: ClassVar[str] = "retune changed"
    version: ClassVar[int] = 1
    at: Moment
    run_id: str
    state: RetuneState
    by: str
    reason: str = ""
    prompt: str = ""
    step: RetuneStep | None = None
