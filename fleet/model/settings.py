"""The settings of one thing: what the device reported, and what somebody asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from fleet.model.fields import Value
from fleet.model.quality import Quality


class Cause(StrEnum):
    """Why a setting changed, as the device says it."""

    PANEL = "panel"
    COMMAND = "command"
    PACK = "pack"
    OTHER_CLIENT = "other client"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Desired:
    """A value that a command asked for; it dies with its command."""

    field: str
    value: Value
    command_id: str


@dataclass(frozen=True, slots=True)
class SettingsView:
    """The settings of one address.

    ``revision`` is ``boot.number`` and serves as the ETag. ``controlled_through`` is the device that holds them.
    """

    address: str
    revision: str
    controlled_through: str
    quality: Quality
    reported: Mapping[str, Value]
    desired: tuple[Desired, ...] = ()
