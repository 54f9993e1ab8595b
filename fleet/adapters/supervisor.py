"""Keeps contact with every device: connects, watches heartbeats, starts again. One task each; none hurts another."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from fleet.adapters.adapter import Adapter, Sink
from fleet.adapters.pace import Pace, back_off_s
from fleet.adapters.watch import WATCH_LIMITS, Watch, WatchLimits
from fleet.adapters.watches import Watches
from fleet.clock import Clock
from fleet.config import DeviceAddress
from fleet.errors import ContactFailed, NotFound, ProtocolError, SomeoneElse
from fleet.model.command import Command
from fleet.model.fields import Value
from fleet.model.moment import Moment

_LOG = logging.getLogger(__name__)
MakeAdapter = Callable[[DeviceAddress, Sink], Adapter]


@dataclass(frozen=True, slots=True)
class SupervisorLimits:
    """The bounds of the whole, in seconds and counts; the pauses are common practice.

    A device that broke the protocol is tried again later than one that merely went; ``well_after_s`` of contact
    forgives what was before.
    """

    connects_at_once: int = 50
    connects_per_second: float = 50.0
    connect_s: float = 5.0
    close_s: float = 2.0
    back_off_first_s: float = 0.5
    back_off_most_s: float = 2.0
    bad_first_s: float = 5.0
    bad_most_s: float = 60.0
    well_after_s: float = 60.0
    watch: WatchLimits = WATCH_LIMITS


SUPERVISOR_LIMITS = SupervisorLimits()


class _Link:
    """One address as the supervisor knows it."""

    def __init__(self, device: DeviceAddress, watch: Watches) -> None:
        self.device = device
        self.watch = watch
        self.adapter: Adapter | None = None
        self.retry_now = asyncio.Event()
        self.failures = 0
        self.offences = 0
        self.task: asyncio.Task[None] | None = None


class Supervisor:
    """All the contacts of one console.

    ``sink`` gets what the adapters say, and a Contact whenever the contact itself changes.
    """

    def __init__(
        self,
        clock: Clock,
        random: np.random.Generator,
        sink: Sink,
        make_adapter: MakeAdapter,
        limits: SupervisorLimits = SUPERVISOR_LIMITS,
    ) -> None:
        self._clock = clock
        self._random = random
        self._sink = sink
        self._make_adapter = make_adapter
        self._limits = limits
        self._pace = Pace(limits.connects_per_second)
        self._connecting = asyncio.Semaphore(limits.connects_at_once)
        self._links: dict[str, _Link] = {}
        self._presenters: dict[str, str] = {}
        self._broken: asyncio.Future[None] | None = None

    async def start(self, devices: Sequence[DeviceAddress]) -> None:
        """Begin to keep contact with each device; returns at once."""
        self._broken = asyncio.get_running_loop().create_future()
        for device in devices:
            self._begin(device)

    async def keep_only(self, devices: Sequence[DeviceAddress]) -> None:
        """Keep contact with these devices from now on; returns once the contacts that are to end have ended.

        A contact with a device that stays as it was is left alone; one that is reached elsewhere now begins anew.
        """
        wanted = {device.device_id: device for device in devices}
        ending = [link for link in self._links.values() if wanted.get(link.device.device_id) != link.device]
        await self._end(ending)
        for device in devices:
            if device.device_id not in self._links:
                self._begin(device)

    def _begin(self, device: DeviceAddress) -> None:
        presenter = self._links.get(self._presenters.pop(device.device_id, ""))
        if presenter is not None:
            at = Moment(self._clock.monotonic_us(), self._clock.utc_us())
            presenter.watch.give_up(at, device.device_id, f"at {device.url}")
        claim = partial(self._claim, device.device_id)
        watch = Watches(device.device_id, self._make_watch, self._sink, claim)
        link = self._links[device.device_id] = _Link(device, watch)
        link.task = asyncio.create_task(self._keep(link), name=f"contact with {device.device_id}")
        link.task.add_done_callback(self._ended)

    def _make_watch(self, device_id: str, sink: Sink) -> Watch:
        return Watch(device_id, self._clock, sink, self._limits.watch, self._break)

    def _claim(self, gateway_id: str, device_id: str) -> str:
        """Let a gateway present a device, unless it is reached by itself or through another: where, in words."""
        if device_id in self._links:
            return f"at {self._links[device_id].device.url}"
        presenter = self._presenters.setdefault(device_id, gateway_id)
        return "" if presenter == gateway_id else f"through {presenter}"

    async def _end(self, links: Iterable[_Link]) -> None:
        ending = {link.device.device_id: self._links.pop(link.device.device_id) for link in links}
        self._presenters = {one: through for one, through in self._presenters.items() if through not in ending}
        tasks = [link.task for link in ending.values()]
        for task in tasks:
            if task is not None:
                task.cancel()
        await asyncio.gather(*(task for task in tasks if task is not None), return_exceptions=True)

    def _ended(self, task: asyncio.Task[None]) -> None:
        """A contact that can't be kept any more by a defect of ours is told to whoever waits in ``failed``."""
        defect = None if task.cancelled() else task.exception()
        if isinstance(defect, Exception):
            self._break(defect)

    async def failed(self) -> None:
        """Wait until a contact can't be kept any more, by a defect of ours, and raise that; returns after ``stop``.

        What a device brings about ends its own contact alone and is no failure.
        """
        if self._broken is not None:
            await asyncio.wait([self._broken])
            if not self._broken.cancelled():
                self._broken.result()

    def _break(self, defect: Exception) -> None:
        if self._broken is not None and not self._broken.done():
            self._broken.set_exception(defect)

    async def stop(self) -> None:
        """Drop every contact; returns once all tasks have ended."""
        if self._broken is not None:
            self._broken.cancel()
        await self._end(list(self._links.values()))

    def retry_now(self, device_id: str) -> None:
        """End the pause before the next attempt. Raises NotFound."""
        self._link(device_id).retry_now.set()

    async def write(self, command: Command) -> None:
        """Send a write to the device that controls its target.

        Raises NotFound, ContactFailed or ProtocolError; the write may have been sent all the same.
        """
        await self._adapter(command.device_id).write(command)

    async def act(self, command: Command, secrets: Mapping[str, Value]) -> None:
        """Send an act to the device that does it. Raises as ``write``."""
        await self._adapter(command.device_id).act(command, secrets)

    async def take_lease(self, device_id: str) -> None:
        """Take the lease of a device. Raises as ``write``."""
        await self._adapter(device_id).take_lease(device_id)

    async def cancel(self, command: Command) -> None:
        """Ask the device to give a command up. Raises as ``write``."""
        await self._adapter(command.device_id).cancel(command)

    async def read_back(self, device_id: str, address: str) -> None:
        """Ask a device for the settings of an address again. Raises as ``write``."""
        await self._adapter(device_id).read_back(address)

    # ------------------------------------------------------------ one device

    def _link(self, device_id: str) -> _Link:
        """The address by which a device is reached, its own or a gateway's."""
        link = self._links.get(device_id) or self._links.get(self._presenters.get(device_id, ""))
        if link is None:
            raise NotFound("device", device_id)
        return link

    def _adapter(self, device_id: str) -> Adapter:
        adapter = self._link(device_id).adapter
        if adapter is None:
            raise ContactFailed(device_id, "not in contact")
        return adapter

    async def _keep(self, link: _Link) -> None:
        """Keep contact with one device for ever: the only loop over attempts."""
        link.watch.start()
        try:
            while True:
                link.retry_now.clear()
                pause_s = await self._attempt(link)
                await self._pause(link, pause_s)
        finally:
            link.watch.stop()

    async def _attempt(self, link: _Link) -> float:
        """One contact from opening to end; the pause before the next."""
        began_us = self._clock.monotonic_us()
        try:
            await self._contact(link)
        except ContactFailed as error:
            return self._after_failure(link, error.reason, began_us)
        except SomeoneElse as error:
            return self._after_offence(link, f"{error}{self._where(error.found, link)}", began_us)
        except ProtocolError as error:
            return self._after_offence(link, f"broke the protocol: {error}", began_us)
        except Exception:  # noqa: BLE001 - a defect of ours must neither end the watch over a device nor stay silent.
            _LOG.exception("the contact with %s failed by a defect", link.device.device_id)
            return self._after_offence(link, "internal error; the log has it", began_us)
        return self._after_failure(link, "the contact ended", began_us)

    def _where(self, device_id: str, link: _Link) -> str:
        """Where a device that was met in another's place is watched, as words to add."""
        known = self._links.get(device_id)
        return "" if known is None or known is link else f", which is watched at {known.device.url}"

    async def _contact(self, link: _Link) -> None:
        adapter = link.adapter = self._make_adapter(link.device, link.watch.heard)
        try:
            async with self._connecting:
                await self._clock.sleep(self._pace.wait_s(self._clock.monotonic_us()))
                await self._connect(adapter, link)
            await link.watch.until_lost(adapter.run())
        finally:
            link.adapter = None
            await self._close(adapter, link)

    async def _connect(self, adapter: Adapter, link: _Link) -> None:
        try:
            async with asyncio.timeout(self._limits.connect_s):
                await adapter.connect()
        except TimeoutError as error:
            reason = f"no greeting within {self._limits.connect_s:g} s"
            raise ContactFailed(link.device.device_id, reason) from error

    async def _close(self, adapter: Adapter, link: _Link) -> None:
        try:
            async with asyncio.timeout(self._limits.close_s):
                await adapter.close()
        except TimeoutError:
            _LOG.warning("%s took longer than %g s to close", link.device.device_id, self._limits.close_s)

    # ------------------------------------------------------------ between contacts

    def _after_failure(self, link: _Link, reason: str, began_us: int) -> float:
        self._forgive(link, began_us)
        link.failures += 1
        pause_s = back_off_s(link.failures, self._limits.back_off_first_s, self._limits.back_off_most_s, self._random)
        link.watch.ended(reason, bad=False, attempts=link.failures, pause_s=pause_s)
        return pause_s

    def _after_offence(self, link: _Link, reason: str, began_us: int) -> float:
        self._forgive(link, began_us)
        link.failures += 1
        link.offences += 1
        pause_s = back_off_s(link.offences, self._limits.bad_first_s, self._limits.bad_most_s, self._random)
        link.watch.ended(reason, bad=True, attempts=link.failures, pause_s=pause_s)
        return pause_s

    def _forgive(self, link: _Link, began_us: int) -> None:
        """Begin to count anew after a contact that held."""
        if link.watch.beats:
            link.failures = 0
        if self._clock.monotonic_us() - began_us >= self._limits.well_after_s * 1_000_000:
            link.offences = 0

    async def _pause(self, link: _Link, pause_s: float) -> None:
        try:
            async with asyncio.timeout(pause_s):
                await link.retry_now.wait()
        except TimeoutError:
            return
