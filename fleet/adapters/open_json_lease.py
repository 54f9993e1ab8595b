"""The lease of one device: asked for once it is described, kept while it is watched, given back at the end."""

from __future__ import annotations

from functools import partial

from fleet.adapters.open_json_line import Asked, Line
from fleet.model.device import Lease
from fleet.model.moment import Moment
from fleet.protocol import messages

LEASE_S = 30
ASK_AGAIN_EVERY_US = 10_000_000
HOLDER_LENGTH_MAXIMUM = 128


class LeaseKeeper:
    """Asks every ten seconds: to keep the lease, or, while another has it, whether it is free. It never takes one."""

    def __init__(self, device_id: str, line: Line, *, leases: bool) -> None:
        self._device_id = device_id
        self._line = line
        self._asked_us: int | None = None
        self.leases = leases
        self.ours = False

    def ask(self, *, take: bool = False) -> None:
        """Ask for the lease now; ``take`` is a person's wish. Raises ContactFailed."""
        self._asked_us = self._line.now().monotonic_us
        request = partial(self._line.session.lease, self._device_id, LEASE_S, take=take)
        self._line.ask(request, Asked(device_id=self._device_id, lease=True))

    def ask_when_due(self, at: Moment) -> None:
        """Ask again where ten seconds have passed; to be called at each heartbeat. Raises ContactFailed."""
        if self._asked_us is not None and at.monotonic_us - self._asked_us >= ASK_AGAIN_EVERY_US:
            self.ask()

    def heard(self, result: messages.LeaseResult) -> Lease:
        """What the device answers."""
        self.ours = result.granted
        return Lease(result.granted, "" if result.granted else result.holder[:HOLDER_LENGTH_MAXIMUM])

    def refused(self) -> Lease:
        """The device gave no answer but an error."""
        self.ours = False
        return Lease(ours=False)

    def leased(self, leased: messages.Leased) -> Lease:
        """Another has the lease now, or nobody; a free one is asked for at once. Raises ContactFailed."""
        self.ours = False
        if not leased.holder:
            self.ask()
        return Lease(ours=False, holder=leased.holder[:HOLDER_LENGTH_MAXIMUM])

    def release(self) -> None:
        """Give the lease back, where it is ours. Raises ContactFailed."""
        if self.ours:
            self.ours = False
            self._line.ask(partial(self._line.session.release, self._device_id), Asked(device_id=self._device_id))
