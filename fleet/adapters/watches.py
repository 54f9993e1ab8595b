"""The watches over all that is reached by one address: a device by itself, or a gateway and the devices it presents."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from dataclasses import replace

from fleet.adapters.adapter import Sink
from fleet.adapters.watch import Watch
from fleet.model.device import ContactState
from fleet.model.observation import Contact, Notice, Observation

MakeWatch = Callable[[str, Sink], Watch]
Claim = Callable[[str], str]
"""Asks whether a device may be presented here: empty when it may, else where it is reached already, in words."""


class Watches:
    """One watch over the address, and one over each device that a gateway there presents.

    Each device is as fresh as its own heartbeats. When the contact with the gateway ends, that of each device behind it
    ends for the same reason. A device that is reached elsewhere is refused, and said to be.
    """

    def __init__(self, device_id: str, make_watch: MakeWatch, sink: Sink, claim: Claim) -> None:
        self._device_id = device_id
        self._make_watch = make_watch
        self._sink = sink
        self._claim = claim
        self._whole = make_watch(device_id, sink)
        self._presented: dict[str, Watch] = {}
        self._refused: set[str] = set()

    @property
    def beats(self) -> int:
        """Fresh heartbeats of this contact."""
        return self._whole.beats

    def start(self) -> None:
        """Begin to count."""
        self._whole.start()

    def stop(self) -> None:
        """Count no more."""
        for watch in (self._whole, *self._presented.values()):
            watch.stop()

    async def until_lost(self, run: Coroutine[object, object, None]) -> None:
        """Await ``run`` for as long as something there is fresh; see ``Watch.until_lost``."""
        await self._whole.until_lost(run)

    def ended(self, reason: str, *, bad: bool, attempts: int, pause_s: float) -> None:
        """The contact with the address has ended, and with it all that was reached through it."""
        self._refused.clear()
        self._whole.ended(reason, bad=bad, attempts=attempts, pause_s=pause_s)
        for watch in self._presented.values():
            words = f"gateway {self._device_id}: {reason}"
            watch.ended(words, bad=False, attempts=attempts, pause_s=pause_s)

    def heard(self, item: Observation | Contact) -> None:
        """What the adapter says; the adapter's sink."""
        if item.device_id == self._device_id:
            self._whole.heard(item)
            return
        watch = self._watch_over(item)
        if watch is None:
            return
        if isinstance(item, Contact) and item.state is not ContactState.FRESH:
            watch.ended(f"gateway {self._device_id}: {item.reason}", bad=False, attempts=0, pause_s=0.0)
        else:
            watch.heard(item)

    def _watch_over(self, item: Observation | Contact) -> Watch | None:
        """The watch over a presented device, begun when it is first heard of; None for one that isn't to be here."""
        known = self._presented.get(item.device_id)
        if known is not None or item.device_id in self._refused:
            return known
        where = self._claim(item.device_id)
        if where:
            self._refused.add(item.device_id)
            words = f"{item.device_id} is reached {where} already; what is said of it here is left out"
            self._whole.heard(Observation(item.at, self._device_id, notices=(Notice("device-elsewhere", words),)))
            return None
        watch = self._presented[item.device_id] = self._make_watch(item.device_id, self._through_here)
        watch.start()
        return watch

    def _through_here(self, item: Observation | Contact) -> None:
        said = replace(item, reached_through=self._device_id) if isinstance(item, Contact) else item
        self._sink(said)
