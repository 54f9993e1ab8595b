"""What our own processes say on their first lines, so that the one that started them knows where they listen."""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from typing import Any

from api.compose.children import Child
from fleet.config import DeviceAddress


@dataclass(frozen=True, slots=True)
class FleetListens:
    """Virtual receivers and where they listen, and the exercise protocol with its token."""

    devices: tuple[DeviceAddress, ...]
    exercise_url: str
    exercise_token: str


async def fleet_of(simulator: Child, seconds: float) -> FleetListens:
    """Read a simulator's lines until it has named every receiver.

    Raises ChildFailed when it ends first, ChildLate when it pauses for longer.
    """
    devices: list[DeviceAddress] = []
    while True:
        line = _object(await simulator.line_that(_is_object, seconds))
        if "exercise_url" in line:
            return FleetListens(tuple(devices), line["exercise_url"], line["token"])
        devices.append(DeviceAddress(line["device_id"], line["url"]))


async def link_of(console: Child, seconds: float) -> str:
    """Read a console's lines until it has given its launch link. Raises as ``fleet_of``."""
    line = await console.line_that(lambda text: link_in(text) is not None, seconds)
    return str(link_in(line))


def link_in(line: str) -> str | None:
    """The launch link that a console's line carries, if it does."""
    return _object(line).get("link") if _is_object(line) else None


def announce_link(link: str) -> None:
    """Say, for the process that started this one, which link opens the console."""
    sys.stdout.write(json.dumps({"link": link}) + "\n")
    sys.stdout.flush()


def _is_object(text: str) -> bool:
    return text.startswith("{")


def _object(text: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(text)
    return found
