"""The console's contact with each device: which state, since when, last seen."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.device import ContactState, ContactStatus
from fleet.model.moment import Moment
from fleet.model.observation import Contact
from fleet.model.quality import Quality

OUT_OF_CONTACT = frozenset({ContactState.CONNECTING, ContactState.LOST, ContactState.BAD, ContactState.REMOVED})
_NOT_HEARD = OUT_OF_CONTACT - {ContactState.REMOVED}


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
    index: int
    epoch_us: int


class ContactBook:
    """Every device that was ever tried, and how the contact with it stands; in the order of the first tries."""

    def __init__(self) -> None:
        self._known: dict[str, _Known] = {}
        self._since_us: list[int] = []
        self._heard: list[bool] = []
        self._out: list[bool] = []
        self._removed: list[bool] = []

    def step(self, contact: Contact) -> ContactStep:
        """Take in a change of contact or a fresh heartbeat.

        A description in the midst of a contact is no heartbeat, and doesn't make the contact younger. Trying again
        after a loss is no change of state: the device stays lost until it is heard.
        """
        known = self._known.get(contact.device_id)
        before = None if known is None else known.status
        status = _next_status(before, contact)
        boot_changed = before is not None and bool(before.boot_id) and status.boot_id != before.boot_id
        began = boot_changed or (contact.description is not None and (before is None or before.state in OUT_OF_CONTACT))
        changed = before is None or status.state is not before.state or boot_changed
        if known is None:
            known = self._add(contact, status)
        known.status = status
        self._note(known, before, status, contact.at)
        if status.state is ContactState.FRESH and not _only_describes(before, contact):
            self._since_us[known.index] = contact.at.monotonic_us
            self._heard[known.index] = True
        if began:
            known.epoch_us = contact.at.monotonic_us
        return ContactStep(status, changed, began, boot_changed)

    def _note(self, known: _Known, before: ContactStatus | None, status: ContactStatus, at: Moment) -> None:
        """Keep the columns; a device that comes back after it was removed counts as never heard."""
        if before is not None and before.state is ContactState.REMOVED and status.state is not ContactState.REMOVED:
            self._since_us[known.index] = at.monotonic_us
            self._heard[known.index] = False
        self._out[known.index] = status.state in OUT_OF_CONTACT
        self._removed[known.index] = status.state is ContactState.REMOVED

    def _add(self, contact: Contact, status: ContactStatus) -> _Known:
        known = _Known(status, len(self._known), contact.at.monotonic_us)
        self._known[contact.device_id] = known
        self._since_us.append(contact.at.monotonic_us)
        self._heard.append(False)
        self._out.append(True)
        self._removed.append(False)
        return known

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

    def may_go_on(self, device_id: str) -> bool:
        """Whether the connection stands, though a heartbeat may be late: what was told over it isn't told again."""
        status = self.status(device_id)
        return status is not None and status.state in (ContactState.FRESH, ContactState.LATE)

    def fresh_for_us(self, device_id: str, at: Moment) -> int:
        """How long the present connection and boot have lasted, 0 while out of contact."""
        known = self._known.get(device_id)
        if known is None or known.status.state in OUT_OF_CONTACT:
            return 0
        return at.monotonic_us - known.epoch_us

    def ages_s(self, at: Moment) -> tuple[NDArray[np.float64], NDArray[np.uint8]]:
        """Time since the last fresh heartbeat, uncertain and since the first try where there was none.

        It is absent of devices that are removed.
        """
        ages_us = np.maximum(at.monotonic_us - np.array(self._since_us, dtype=np.int64), 0)
        heard = np.where(np.array(self._heard, dtype=np.bool_), Quality.GOOD, Quality.UNCERTAIN)
        removed = self.removed()
        qualities = np.where(removed, Quality.ABSENT, heard).astype(np.uint8)
        return np.where(removed, np.nan, ages_us / 1e6), qualities

    def removed(self) -> NDArray[np.bool_]:
        """Which devices aren't watched any more."""
        return np.array(self._removed, dtype=np.bool_)

    def out_of_contact(self) -> NDArray[np.bool_]:
        """Whether nothing that the device reported can be current."""
        return np.array(self._out, dtype=np.bool_)


def _only_describes(before: ContactStatus | None, contact: Contact) -> bool:
    """Whether a device merely describes itself anew while it is in contact."""
    return contact.description is not None and before is not None and before.state is contact.state


def _next_status(before: ContactStatus | None, contact: Contact) -> ContactStatus:
    state = contact.state
    reason = contact.reason
    if state is ContactState.CONNECTING and before is not None and before.state in _NOT_HEARD:
        state = before.state
        reason = reason or before.reason
    kept = before is not None and before.state is state
    seen = state is ContactState.FRESH and not _only_describes(before, contact)
    return ContactStatus(
        device_id=contact.device_id,
        state=state,
        since_utc_us=before.since_utc_us if before is not None and kept else contact.at.utc_us,
        last_seen_utc_us=contact.at.utc_us if seen else (None if before is None else before.last_seen_utc_us),
        reason=reason,
        boot_id=contact.boot_id or ("" if before is None else before.boot_id),
        attempts=contact.attempts,
        next_attempt_utc_us=contact.next_attempt_utc_us,
        reached_through=contact.reached_through,
    )
