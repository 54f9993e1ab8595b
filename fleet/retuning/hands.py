"""The hands of a retune: one write over the ordinary command path, and what became of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace

from fleet.clock import MICROSECONDS_PER_SECOND, Clock
from fleet.errors import InvalidRequest, LimitReached, NotFound, RedpollError
from fleet.model.command import Command, CommandState
from fleet.model.fields import Value, same_value
from fleet.model.inputs import CancelCommand, RequestWrite
from fleet.model.quality import Quality
from fleet.model.retune import RetuneWrite
from fleet.model.settings import SettingsView
from fleet.retuning.console import Console, settings_of

LOOK_EVERY_S = 0.1
SETTLE_WITHIN_S = 10.0
"""How long an unknown outcome is given to be settled by reading again, which is done every five seconds."""
HEARD_WITHIN_S = 3.0
"""How soon a receiver must name its pack after both ends have moved; common practice."""
ALREADY = "it stood there already"
_WAITS = frozenset({CommandState.WAITING_FOR_WAKE, CommandState.WAITING_FOR_HAND})


@dataclass(frozen=True, slots=True)
class Hands:
    """Carries single writes out in the name of the person who asked for the run."""

    console: Console
    clock: Clock
    person: str

    async def write(
        self, write: RetuneWrite, is_cancelled: Callable[[], bool], seen: Callable[[RetuneWrite], None]
    ) -> RetuneWrite:
        """Ask for a write, under its command id, and wait until it has ended, or stays unknown.

        ``seen`` is given every state on the way. A write that waits for a hand or for a pack to wake is given up when
        the run is cancelled.
        """
        try:
            view = self.console.settings(write.address)
            if _is_known(view, write) and _stands(view, write.changes):
                return replace(write, command_id="", state=CommandState.CONFIRMED, reason=ALREADY)
            act = RequestWrite(write.command_id, write.address, write.changes, view.revision)
            await self.console.execute(self.person, act)
        except (InvalidRequest, NotFound, LimitReached) as error:
            return replace(write, command_id="", state=CommandState.REFUSED, reason=f"nothing was sent: {error}")
        return await self._followed(write, is_cancelled, seen)

    async def _followed(
        self, write: RetuneWrite, is_cancelled: Callable[[], bool], seen: Callable[[RetuneWrite], None]
    ) -> RetuneWrite:
        unknown_since_us: int | None = None
        asked_to_cancel = False
        while True:
            command = self.console.command(write.command_id)
            if command.state is not write.state:
                write = as_it_is(write, command)
                seen(write)
            if command.is_terminal:
                return write
            now_us = self.clock.monotonic_us()
            if command.state is not CommandState.UNKNOWN:
                unknown_since_us = None
            elif unknown_since_us is None:
                unknown_since_us = now_us
            elif now_us - unknown_since_us >= SETTLE_WITHIN_S * MICROSECONDS_PER_SECOND:
                return write
            if command.state in _WAITS and is_cancelled() and not asked_to_cancel:
                asked_to_cancel = True
                with suppress(RedpollError):  # It may have ended this very moment; its state tells.
                    await self.console.execute(self.person, CancelCommand(write.command_id))
            await self.clock.sleep(LOOK_EVERY_S)

    def surprise(self, write: RetuneWrite) -> str:
        """Whether somebody set an end otherwise since it was looked at, in words, or nothing."""
        view = settings_of(self.console, write.address)
        if view is None or not _is_known(view, write) or _stands(view, write.before) or _stands(view, write.changes):
            return ""
        now = ", ".join(f"{name} is {view.reported.get(name)}" for name in write.before)
        return f"nothing was sent: {write.address} was set otherwise meanwhile, {now}"

    async def heard(self, channel: str, pack: str) -> bool:
        """Whether the receiver names the pack on that channel within three seconds."""
        until_us = self.clock.monotonic_us() + round(HEARD_WITHIN_S * MICROSECONDS_PER_SECOND)
        while self.identity(channel) != pack:
            if self.clock.monotonic_us() >= until_us:
                return False
            await self.clock.sleep(LOOK_EVERY_S)
        return True

    def identity(self, channel: str) -> str:
        """The pack that the receiver names on that channel now; empty where it names none."""
        named = self.console.exact(channel).get("identity")
        return named if isinstance(named, str) else ""


def _is_known(view: SettingsView, write: RetuneWrite) -> bool:
    """Whether what is reported can be relied on: it is vouched for, and no command of it is open or unknown."""
    return view.quality is Quality.GOOD and not any(each.field in write.changes for each in view.desired)


def _stands(view: SettingsView, values: Mapping[str, Value]) -> bool:
    return all(same_value(view.reported.get(name), value) for name, value in values.items())


def as_it_is(write: RetuneWrite, command: Command) -> RetuneWrite:
    """A write with what its command has come to."""
    refused = [f"{each.field}: {each.reason or 'not done'}" for each in command.outcomes if not each.done]
    return replace(write, state=command.state, reason="; ".join(filter(None, [command.reason, *refused])))
