"""The one interface that a kind of device has to fill; everything else all devices have in common."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from fleet.protocol.messages import LayoutEntry

Reading = float | bool | None
Exact = dict[str, dict[str, bool | int | float | str | None]]


class Gear(Protocol):
    """What is particular to a kind of device. Its packs and its vital signs are not its own business.

    ``settings`` holds everything of it that can be set, by address, the device itself first.
    """

    settings: dict[str, dict[str, Value]]

    def describe(self) -> DeviceDescription:
        """Its shape and capabilities, without packs."""

    def applied(self, address: str) -> None:
        """Something at that address was set otherwise."""

    def layout(self) -> list[LayoutEntry]:
        """The order of its readings."""

    def readings(self, since_block: int) -> list[Reading]:
        """Their values for all blocks after that one."""

    def exact(self) -> Exact:
        """Its readings that are text or exact integers."""

    def hindrance(self, address: str, changes: Mapping[str, Value], field: str) -> str:
        """Why it won't take that one of some changes now, in words; empty when it will."""

    def plug(self, module: str) -> bool:
        """Plug a module in; whether it has such a one. What it describes is another thing then."""
