"""The demonstration tried out by itself, over the same doors that anybody uses.

Each step is a function that returns what it saw, or raises CheckFailed with the reason.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from api.compose.announce import FleetListens
from api.compose.children import Child
from api.compose.console_client import ConsoleClient
from api.compose.exercise_client import ExerciseClient
from fleet.clock import Clock
from fleet.errors import RedpollError
from fleet.model.command import TERMINAL

CHANNELS = 24
LOOK_EVERY_SECONDS = 0.1
PACK_TO_SET = "k01"
PACK_TO_HOLD = "k05"
RECEIVER_TO_SILENCE = "quay-3"
_TERMINAL_WORDS = frozenset(state.value for state in TERMINAL)
Found = TypeVar("Found")


class Demonstration(Protocol):
    """The simulated fleet, and consoles for it that remember what the one before them knew."""

    @property
    def fleet(self) -> FleetListens:
        """Where the virtual receivers and the exercise protocol listen."""

    async def start_console(self) -> tuple[Child, str]:
        """Start a console process; returns it and its launch link."""


class CheckFailed(RedpollError):
    """A step of the check did not see what it must."""

    def __init__(self, step: str, reason: str) -> None:
        self.step = step
        super().__init__(f"check failed at: {step}: {reason}")


class Watch:
    """Looks again and again until something is there."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock

    async def until(self, step: str, seconds: float, look: Callable[[], Awaitable[Found | None]]) -> Found:
        """What ``look`` finds.

        Raises CheckFailed when it has found nothing after that many seconds.
        """
        deadline_us = self._clock.monotonic_us() + round(seconds * 1_000_000)
        while self._clock.monotonic_us() < deadline_us:
            found = await look()
            if found is not None:
                return found
            await self._clock.sleep(LOOK_EVERY_SECONDS)
        raise CheckFailed(step, f"not seen within {seconds:g} s")


async def see_all_report(console: ConsoleClient, watch: Watch) -> int:
    """Wait until every channel reports a fresh level."""

    async def look() -> int | None:
        channels = await console.items("channels?limit=200")
        reporting = sum(1 for channel in channels if _is_good(channel, "peak_dbfs"))
        return reporting if reporting == CHANNELS else None

    return await watch.until(f"all {CHANNELS} channels report", 30.0, look)


def _is_good(thing: dict[str, Any], reading: str) -> bool:
    found = thing["readings"].get(reading)
    return found is not None and found["quality"] == "good"


async def set_low_cut(console: ConsoleClient, watch: Watch) -> str:
    """Change one pack's low-cut and see the device confirm it."""
    command = await change_low_cut(console, PACK_TO_SET)
    settled = await see_command_settle(console, watch, command["command_id"], 10.0)
    if settled["state"] != "confirmed":
        raise CheckFailed("set a low-cut", f"the command ended {settled['state']}: {settled['reason']}")
    wanted = command["changes"]["low_cut_hz"]
    reported = (await console.call("GET", f"packs/{PACK_TO_SET}/settings")).body["reported"]["low_cut_hz"]
    if reported != wanted:
        raise CheckFailed("set a low-cut", f"confirmed, but the pack reports {reported} Hz, not {wanted}")
    return f"low-cut {wanted} Hz confirmed"


async def change_low_cut(console: ConsoleClient, pack: str) -> dict[str, Any]:
    """Ask for another low-cut than the present one."""
    path = f"packs/{pack}/settings"
    seen = await console.call("GET", path)
    wanted = 120 if seen.body["reported"]["low_cut_hz"] != 120 else 100
    reply = await console.call("PATCH", path, {"low_cut_hz": wanted}, entity_tag=seen.entity_tag)
    command: dict[str, Any] = reply.body
    return command


async def see_command_settle(console: ConsoleClient, watch: Watch, command_id: str, seconds: float) -> dict[str, Any]:
    """Wait until a command is terminal."""

    async def look() -> dict[str, Any] | None:
        command = (await console.call("GET", f"commands/{command_id}")).body
        return command if command["state"] in _TERMINAL_WORDS else None

    return await watch.until("the command settles", seconds, look)


async def silence_and_return(console: ConsoleClient, exercise: ExerciseClient, watch: Watch) -> str:
    """Silence a receiver, see its alarm, let it speak, see the alarm clear."""
    await exercise.call("silence", device_id=RECEIVER_TO_SILENCE, seconds=None)
    alarm_id = f"contact-lost:{RECEIVER_TO_SILENCE}"
    await see_alarm(console, watch, alarm_id, active=True)
    await exercise.call("speak", device_id=RECEIVER_TO_SILENCE)
    await see_alarm(console, watch, alarm_id, active=False)
    return f"{RECEIVER_TO_SILENCE} silenced, alarm raised and cleared"


async def see_alarm(console: ConsoleClient, watch: Watch, alarm_id: str, *, active: bool) -> dict[str, Any]:
    """Wait until an alarm is active, or has returned to normal."""
    states = ("unacknowledged", "acknowledged") if active else ("normal", "returned unacknowledged")

    async def look() -> dict[str, Any] | None:
        for alarm in await console.items("alarms?limit=200"):
            if alarm["alarm_id"] == alarm_id:
                return alarm if alarm["state"] in states else None
        return None

    return await watch.until(f"alarm {alarm_id} {'raised' if active else 'cleared'}", 30.0, look)


async def leave_a_command_open(console: ConsoleClient, exercise: ExerciseClient) -> dict[str, Any]:
    """Hold a return link and issue a command that can't be confirmed meanwhile."""
    await exercise.call("hold_return_link", pack=f"pack/{PACK_TO_HOLD}")
    command = await change_low_cut(console, PACK_TO_HOLD)
    state: dict[str, Any] = (await console.call("GET", f"commands/{command['command_id']}")).body
    if state["state"] in _TERMINAL_WORDS:
        raise CheckFailed("leave a command open", f"it is already {state['state']}")
    return state


async def see_what_was_remembered(
    console: ConsoleClient, exercise: ExerciseClient, watch: Watch, command_id: str
) -> str:
    """After a restart: the alarm and its return are in the journal, the command is unknown, then settles."""
    await _see_alarm_in_journal(console)
    command = (await console.call("GET", f"commands/{command_id}")).body
    if command["state"] != "unknown":
        raise CheckFailed("the command after the restart", f"it is {command['state']}, not unknown")
    await exercise.call("restore_return_link", pack=f"pack/{PACK_TO_HOLD}")
    settled = await see_command_settle(console, watch, command_id, 20.0)
    return f"the command unknown, then {settled['state']}"


async def _see_alarm_in_journal(console: ConsoleClient) -> None:
    entries = await console.items("journal?kind=alarm%20changed&limit=200")
    states = [entry["alarm"]["state"] for entry in entries if entry["alarm"]["address"] == RECEIVER_TO_SILENCE]
    if "unacknowledged" not in states or not {"normal", "returned unacknowledged"} & set(states):
        raise CheckFailed("the journal after the restart", f"it holds {states or 'nothing'} for {RECEIVER_TO_SILENCE}")


async def run_check(demonstration: Demonstration, clock: Clock) -> str:
    """Try the demonstration out; returns one line with what was seen and the seconds it took.

    Raises CheckFailed, or what a part of it raised.
    """
    began_us = clock.monotonic_us()
    watch = Watch(clock)
    fleet = demonstration.fleet
    async with ExerciseClient(fleet.exercise_url, fleet.exercise_token) as exercise:
        before = await _before_the_kill(demonstration, exercise, watch)
        after = await _after_the_kill(demonstration, exercise, watch, before.open_command_id)
    took_s = (clock.monotonic_us() - began_us) / 1_000_000
    return f"check passed: {'; '.join((*before.seen, after))}; {took_s:.1f} s"


@dataclass(frozen=True, slots=True)
class _Before:
    """What was seen before the console was killed, and the command that was left open."""

    seen: tuple[str, ...]
    open_command_id: str


async def _before_the_kill(demonstration: Demonstration, exercise: ExerciseClient, watch: Watch) -> _Before:
    child, link = await demonstration.start_console()
    try:
        console = await enter(link)
        reporting = await see_all_report(console, watch)
        low_cut = await set_low_cut(console, watch)
        silence = await silence_and_return(console, exercise, watch)
        command = await leave_a_command_open(console, exercise)
    finally:
        await child.kill()
    killed = f"console killed while a command was {command['state']}"
    return _Before((f"{reporting} channels report", low_cut, silence, killed), command["command_id"])


async def _after_the_kill(demonstration: Demonstration, exercise: ExerciseClient, watch: Watch, command_id: str) -> str:
    child, link = await demonstration.start_console()
    try:
        return await see_what_was_remembered(await enter(link), exercise, watch, command_id)
    finally:
        await child.stop()


async def enter(link: str) -> ConsoleClient:
    """Enter a console by its launch link; it listens before it gives the link."""
    console = ConsoleClient(link)
    await console.enter()
    return console
