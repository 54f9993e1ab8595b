"""The console's contact with each device: which state, since when, last seen."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.model.device import ContactState, ContactStatus
from fleet.model.moment import Moment
from fleet.model.observation import Contact

OUT_OF_CONTACT = frozenset({ContactState.CONNECTING, ContactState.LOST, ContactState.BAD})


@dataclass(frozen=True, slots=True)
class ContactStep:
    """What one contact input changed.

    ``new_epoch`` says that another connection, which begins with a description, or another boot began.
    """

    status: ContactStatus
    changed: bool
    new_epoch: bool
    rebooted: bool


@dataclass(slots=True)
class _Known:
    status: ContactStatus
    first_us: int
    heard_us: int | None
    epoch_us: int


class ContactBook:
    """Every device that was ever tried, and how the contact with it stands."""

    def __init__(self) -> None:
        self._known: dict[str, _Known] = {}

    def step(self, contact: Contact) -> ContactStep:
        """Take in a change of contact or a fresh heartbeat.

        Trying again after a loss is no change of state: the device stays lost until it is heard.
        """
        known = self._known.get(contact.device_id)
        before = None if known is None else known.status
        status = _next_status(before, contact)
        fresh = status.state is ContactState.FRESH
        boot_changed = before is not None and bool(before.boot_id) and status.boot_id != before.boot_id
        described = contact.description is not None
        began = boot_changed or (described and (before is None or before.state in OUT_OF_CONTACT))
        changed = before is None or status.state is not before.state or boot_changed
        if known is None:
            known = _Known(status, contact.at.monotonic_us, None, contact.at.monotonic_us)
            self._known[contact.device_id] = known
        known.status = status
        if fresh:
            known.heard_us = contact.at.monotonic_us
        if began:
            known.epoch_us = contact.at.monotonic_us
        return ContactStep(status, changed, began, boot_changed)

    def status(self, device_id: str) -> ContactStatus | None:
        """How the contact stands, or None for a device that was never tried."""
        known = self._known.get(device_id)
        return None if known is None else known.status

    def statuses(self) -> tuple[ContactStatus, ...]:
        """All contacts, in the order in which the devices were first tried."""
        return tuple(known.status for known in self._known.values())

    def is_fresh(self, device_id: str) -> bool:
        """Whether the device's heartbeat is fresh."""
        status = self.status(device_id)
        return status is not None and status.state is ContactState.FRESH

    def fresh_for_us(self, device_id: str, at: Moment) -> int:
        """How long the present connection and boot have lasted, 0 while out of contact."""
        known = self._known.get(device_id)
        if known is None or known.status.state in OUT_OF_CONTACT:
            return 0
        return at.monotonic_us - known.epoch_us

    def age_us(self, device_id: str, at: Moment) -> tuple[int, bool]:
        """Time since the last fresh heartbeat, and whether there was one; if not, time since the first try."""
        known = self._known[device_id]
        since_us = known.first_us if known.heard_us is None else known.heard_us
        return max(0, at.monotonic_us - since_us), known.heard_us is not None


def _next_status(before: ContactStatus | None, contact: Contact) -> ContactStatus:
    state = contact.state
    reason = contact.reason
    if state is ContactState.CONNECTING and before is not None and before.state in OUT_OF_CONTACT:
        state = before.state
        reason = reason or before.reason
    kept = before is not None and before.state is state
    fresh = state is ContactState.FRESH
    return ContactStatus(
        device_id=contact.device_id,
        state=state,
        since_utc_us=before.since_utc_us if before is not None and kept else contact.at.utc_us,
        last_seen_utc_us=contact.at.utc_us if fresh else (None if before is None else before.last_seen_utc_us),
        reason=reason,
        boot_id=contact.boot_id or ("" if before is None else before.boot_id),
        attempts=contact.attempts,
        next_attempt_utc_us=contact.next_attempt_utc_us,
    )
