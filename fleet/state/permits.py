"""What must be so before anything is asked of a device: its lease is ours, and guarded things are unlocked."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.errors import InvalidRequest
from fleet.model.device import Lease, Unlocked
from fleet.model.event import GuardChanged, LeaseChanged
from fleet.model.inputs import LockDevice, UnlockDevice
from fleet.model.moment import Moment

UNLOCK_MINUTES_MAXIMUM = 10
"""How long guarded things stay unlocked at the most; common practice."""
_MINUTE_US = 60_000_000


@dataclass(frozen=True, slots=True)
class _Open:
    until_us: int
    shown: Unlocked


class Permits:
    """Leases as the devices tell them, and what people unlocked. Both are gone after a restart of the console."""

    def __init__(self) -> None:
        self._leases: dict[str, Lease] = {}
        self._unlocked: dict[str, _Open] = {}

    def lease(self, device_id: str) -> Lease | None:
        """Who may write to the device, or None where it has no leases or isn't in contact."""
        return self._leases.get(device_id)

    def unlocked(self, device_id: str) -> Unlocked | None:
        """Who unlocked the device, or None while it is locked."""
        found = self._unlocked.get(device_id)
        return None if found is None else found.shown

    def problem(self, device_id: str, *, guarded: bool) -> str | None:
        """Why nothing may be asked of the device now, or nothing guarded; None when it may."""
        lease = self._leases.get(device_id)
        if lease is not None and not lease.ours:
            who = f"{lease.holder} writes to it" if lease.holder else "its lease has not been granted"
            return f"{device_id} takes writes from one console at a time and {who}; an engineer may take the lease"
        if guarded and device_id not in self._unlocked:
            return f"locked: {device_id} may hurt somebody's hearing; an engineer unlocks it first, for ten minutes"
        return None

    # ------------------------------------------------------------ leases

    def hear_lease(self, at: Moment, device_id: str, lease: Lease | None) -> tuple[LeaseChanged, ...]:
        """Take in who has the lease; None when nobody tells any more."""
        if self._leases.get(device_id) == lease:
            return ()
        self._leases.pop(device_id, None)
        if lease is not None:
            self._leases[device_id] = lease
        return (LeaseChanged(at, device_id, lease),)

    # ------------------------------------------------------------ guards

    def unlock(self, at: Moment, person: str, act: UnlockDevice) -> GuardChanged:
        """Unlock the guarded things of a device. Raises InvalidRequest without a reason or for too long a time."""
        if not act.reason.strip():
            raise InvalidRequest("unlocking needs a reason")
        if not 1 <= act.minutes <= UNLOCK_MINUTES_MAXIMUM:
            raise InvalidRequest(f"a device is unlocked for 1 to {UNLOCK_MINUTES_MAXIMUM} minutes")
        lasts_us = act.minutes * _MINUTE_US
        shown = Unlocked(person, act.reason, at.utc_us + lasts_us)
        self._unlocked[act.device_id] = _Open(at.monotonic_us + lasts_us, shown)
        return GuardChanged(at, act.device_id, shown, person)

    def lock(self, at: Moment, person: str, act: LockDevice) -> tuple[GuardChanged, ...]:
        """Lock a device again; nothing happens where it is locked."""
        if self._unlocked.pop(act.device_id, None) is None:
            return ()
        return (GuardChanged(at, act.device_id, None, person),)

    def tick(self, at: Moment) -> tuple[GuardChanged, ...]:
        """Lock what has been unlocked for its time."""
        over = [name for name, found in self._unlocked.items() if at.monotonic_us >= found.until_us]
        for device_id in over:
            del self._unlocked[device_id]
        return tuple(GuardChanged(at, device_id, None) for device_id in over)
