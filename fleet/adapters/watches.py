"""The watches over all that is reached by one address: a device by itself, or a gateway and the devices it presents."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from dataclasses import replace

from fleet.adapters.adapter import Sink
from fleet.adapters.watch import Watch
from fleet.model.device import ContactState
from fleet.model.moment import Moment
from fleet.model.observation import Contact, Notice, Observation

PRESENTED_MAXIMUM = 64
"""Distinct devices that one address may present for as long as it is listed; further ones are refused."""

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
        self._ever: set[str] = set()
        self._heard: set[str] = set()

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
        if self._whole.beats:
            self._let_go()
        self._heard.clear()
        self._whole.ended(reason, bad=bad, attempts=attempts, pause_s=pause_s)
        for watch in self._presented.values():
            words = f"gateway {self._device_id}: {reason}"
            watch.ended(words, bad=False, attempts=attempts, pause_s=pause_s)

    def give_up(self, at: Moment, device_id: str, where: str) -> None:
        """Leave a device that is reached elsewhere from now on to whoever reaches it there."""
        watch = self._presented.pop(device_id, None)
        if watch is not None:
            watch.stop()
        self._refuse_elsewhere(at, device_id, where)

    def _let_go(self) -> None:
        """Watch no longer over what this contact, in which all that the gateway lists was greeted, didn't bring."""
        for device_id in self._presented.keys() - self._heard:
            self._presented.pop(device_id).let_go(f"gateway {self._device_id} presents it no longer")

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
            self._heard.add(item.device_id)
            return known
        if item.device_id not in self._ever and len(self._ever) >= PRESENTED_MAXIMUM:
            words = f"it has presented {PRESENTED_MAXIMUM} devices since it was listed; {item.device_id} is left out"
            self._refuse(item.at, item.device_id, "devices-left-out", words)
            return None
        where = self._claim(item.device_id)
        if where:
            self._refuse_elsewhere(item.at, item.device_id, where)
            return None
        self._ever.add(item.device_id)
        self._heard.add(item.device_id)
        watch = self._presented[item.device_id] = self._make_watch(item.device_id, self._through_here)
        watch.start()
        return watch

    def _refuse_elsewhere(self, at: Moment, device_id: str, where: str) -> None:
        words = f"{device_id} is reached {where} already; what is said of it here is left out"
        self._refuse(at, device_id, "device-elsewhere", words)

    def _refuse(self, at: Moment, device_id: str, code: str, words: str) -> None:
        self._refused.add(device_id)
        self._whole.heard(Observation(at, self._device_id, notices=(Notice(code, words),)))

    def _through_here(self, item: Observation | Contact) -> None:
        said = replace(item, reached_through=self._device_id) if isinstance(item, Contact) else item
        self._sink(said)
