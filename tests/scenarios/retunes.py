"""Plans for a corner of the demonstration, the world's own word on who is where, and an eye on every moment between."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations
from typing import Any

from fleet.journal.documents import Draft
from fleet.model.plan import PLAN
from fleet.model.retune import RetuneRun
from tests.scenarios.whole_console import WholeConsole

ONE, TWO, THREE, FOUR = (f"house-{device}/channel/{number}" for device in (1, 2) for number in (1, 2))
FIVE = "quay-1/channel/1"
PACK_OF = {ONE: "pack/k01", TWO: "pack/k02", THREE: "pack/k03", FOUR: "pack/k04", FIVE: "pack/q01"}
SPACING_HZ = 400_000
NAME = "tonight"
LOOK_S = 0.1


def carrier_of(channel: str) -> str:
    return channel.replace("/channel/", "/carrier/")


def frequency(console: WholeConsole, address: str) -> int:
    """Where a pack really is, or a receiver really listens, by the world's own word."""
    settings = console.fault("truth", address=address)["settings"]
    assert isinstance(settings, Mapping)
    return int(settings["frequency_hz"])


def places(console: WholeConsole) -> dict[str, tuple[int, int]]:
    """Pack and receiver of every channel."""
    return {one: (frequency(console, PACK_OF[one]), frequency(console, carrier_of(one))) for one in PACK_OF}


def plan_of(wanted: Mapping[str, int], **changed: Any) -> dict[str, Any]:
    """A plan with those channels there; its windows go a little beyond, unless they are given."""
    windows = [{"start_hz": min(wanted.values()) - 4_000_000, "stop_hz": max(wanted.values()) + 4_000_000}]
    return {
        "title": "Tonight",
        "request": {
            "raster_hz": 25_000,
            "window": changed.pop("windows", windows),
            "profile": [{"name": "digital", "spacing_hz": SPACING_HZ}],
            "group": [{"name": "Cast", "zone": "House", "profile": "digital", "count": len(wanted)}],
        },
        "carriers": [
            {"group": "Cast", "zone": "House", "frequency_hz": hz, "locked": False, "channel": channel}
            for channel, hz in wanted.items()
        ],
        "spares": [],
        "complete": False,
        "worst_margin_hz": None,
        "seed": 0,
        "steps": 0,
        "seconds": 0.0,
        "relaxations": [],
        "bands": [],
        **changed,
    }


async def keep_plan(console: WholeConsole, body: Mapping[str, Any], name: str = NAME) -> None:
    """Keep a plan as a document."""
    await console.runtime.documents.put(Draft(PLAN, name, body, None, "Engineer", console.runtime.now().utc_us))


async def ended(console: WholeConsole, run_id: str, within_s: float = 60.0, *, watched: bool = True) -> RetuneRun:
    """The run once it has come to an end; at every look in between nobody was on another's frequency."""
    run = await console.runtime.retuner.run(run_id)
    for _ in range(round(within_s / LOOK_S)):
        if watched:
            require_apart(console)
        run = await console.runtime.retuner.run(run_id)
        if not run.state.is_open:
            return run
        await console.pass_time(LOOK_S)
    raise AssertionError(f"the run is still {run.state.value}: {run.reason}")


def require_apart(console: WholeConsole) -> None:
    """No pack on the air, and no receiver, is nearer than the spacing to those of another channel."""
    for one, other in combinations(PACK_OF, 2):
        for hz in _on(console, one):
            for other_hz in _on(console, other):
                assert abs(hz - other_hz) >= SPACING_HZ, f"{one} and {other} meet at {hz} Hz"


def _on(console: WholeConsole, channel: str) -> set[int]:
    settings = console.fault("truth", address=PACK_OF[channel])["settings"]
    assert isinstance(settings, Mapping)
    if settings["standby"]:
        return set()  # Off the air; its receiver is known to hear another, and muted at the desk.
    return {int(settings["frequency_hz"]), frequency(console, carrier_of(channel))}


async def asked(console: WholeConsole, run_id: str, code: str, within_s: float = 30.0) -> RetuneRun:
    """The run once it asks that."""
    run = await console.runtime.retuner.run(run_id)
    for _ in range(round(within_s / LOOK_S)):
        run = await console.runtime.retuner.run(run_id)
        if run.prompt is not None and run.prompt.code == code:
            return run
        assert run.state.is_open, f"{run.state.value}: {run.reason}"
        await console.pass_time(LOOK_S)
    raise AssertionError(f"{code} is not asked: {run.state.value}, {run.prompt}")
