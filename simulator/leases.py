"""The lease of a device: the one client that may write to it for a while."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.protocol.codes import ErrorCode
from simulator.audience import Listener
from simulator.writes import Refused

_US = 1_000_000


@dataclass(frozen=True, slots=True)
class Granting:
    """The answer to a client that asked: whether it may, who holds the lease, and for how much longer."""

    granted: bool
    holder: str
    remaining_s: float


class Lease:
    """Who may write. A device that ``exists`` not for has none: everybody may write there."""

    def __init__(self, *, exists: bool) -> None:
        self.exists = exists
        self._holder: Listener | None = None
        self._until_us = 0

    def ask(self, asker: Listener, seconds: int, now_us: int, *, take: bool) -> Granting:
        """Give the lease to a client, or stay with whoever has it; ``take`` takes it away."""
        if self._holder is not None and self._holder is not asker and not take:
            return Granting(granted=False, holder=self._holder.label, remaining_s=(self._until_us - now_us) / _US)
        self._holder = asker
        self._until_us = now_us + seconds * _US
        return Granting(granted=True, holder=asker.label, remaining_s=float(seconds))

    def release(self, asker: Listener) -> bool:
        """Give it back; whether this client held it."""
        if self._holder is not asker:
            return False
        self._holder = None
        return True

    def expire(self, now_us: int) -> bool:
        """Whether it ran out now."""
        if self._holder is None or now_us < self._until_us:
            return False
        self._holder = None
        return True

    def is_held_by(self, asker: Listener) -> bool:
        """Whether this client holds it."""
        return self._holder is asker

    def why_not(self, asker: Listener) -> Refused | None:
        """Why this client may not write now, or None when it may."""
        if not self.exists or self._holder is asker:
            return None
        holder = "" if self._holder is None else self._holder.label
        words = f"{holder} has the lease of this device" if holder else "take the lease of this device first"
        return Refused(ErrorCode.REFUSED, words, {"lease": holder})
