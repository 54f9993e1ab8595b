"""The lists of a production as JSON values: one member found by its id, put in place, patched or taken out.

Nothing here checks what it makes; ``production_of_object`` reads the whole again before it counts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from fleet.errors import NotFound

Values = dict[str, Any]


class PartKind(StrEnum):
    """The lists whose members have an address of their own."""

    POSITIONS = "positions"
    RACKS = "racks"
    NETWORKS = "networks"
    ANTENNA_PATHS = "antenna_paths"
    ACTS = "acts"
    CUES = "cues"
    SLEEPS = "sleeps"
    SWAPS = "swaps"


@dataclass(frozen=True, slots=True)
class _List:
    thing: str
    key: str
    in_order: bool = False


_LISTS = {
    PartKind.POSITIONS: _List("position", "number"),
    PartKind.RACKS: _List("rack", "name"),
    PartKind.NETWORKS: _List("network", "name"),
    PartKind.ANTENNA_PATHS: _List("antenna path", "feed"),
    PartKind.ACTS: _List("act", "act_id", in_order=True),
    PartKind.CUES: _List("cue", "cue_id", in_order=True),
    PartKind.SLEEPS: _List("planned sleep", "sleep_id", in_order=True),
    PartKind.SWAPS: _List("planned swap", "swap_id", in_order=True),
}


def part_of(values: Values, kind: PartKind, key: str) -> Values:
    """The member of that id. Raises NotFound."""
    return _members(values, kind)[_index(values, kind, key)]


def with_part(values: Values, kind: PartKind, key: str, body: Mapping[str, Any]) -> Values:
    """The values with a member put in the place of the one of that id, or after the last.

    A new cue stands where its planned start belongs. The id in the address is the member's; a body may leave it out.
    """
    members = _members(values, kind)
    member = {_LISTS[kind].key: _key_value(kind, key), **body}
    known = [index for index, one in enumerate(members) if _is_named(one, kind, key)]
    if known:
        return _with(values, kind, [*members[: known[0]], member, *members[known[0] + 1 :]])
    at = len(members)
    if kind is PartKind.CUES and isinstance(member.get("planned_start_s"), int):
        later = (index for index, cue in enumerate(members) if cue["planned_start_s"] > member["planned_start_s"])
        at = next(later, at)
    return _with(values, kind, [*members[:at], member, *members[at:]])


def patched_part(values: Values, kind: PartKind, key: str, patch: Mapping[str, Any]) -> Values:
    """The values with single fields of a member changed; null takes a field back to what it is when left out.

    Raises NotFound.
    """
    index = _index(values, kind, key)
    members = _members(values, kind)
    merged = {name: value for name, value in {**members[index], **patch}.items() if value is not None}
    return _with(values, kind, [*members[:index], merged, *members[index + 1 :]])


def without_part(values: Values, kind: PartKind, key: str) -> Values:
    """The values without that member. Raises NotFound."""
    index = _index(values, kind, key)
    members = _members(values, kind)
    return _with(values, kind, [*members[:index], *members[index + 1 :]])


def _members(values: Values, kind: PartKind) -> list[Values]:
    holder = values["order"] if _LISTS[kind].in_order else values
    found: list[Values] = holder[kind.value]
    return found


def _with(values: Values, kind: PartKind, members: list[Values]) -> Values:
    if _LISTS[kind].in_order:
        return {**values, "order": {**values["order"], kind.value: members}}
    return {**values, kind.value: members}


def _index(values: Values, kind: PartKind, key: str) -> int:
    for index, member in enumerate(_members(values, kind)):
        if _is_named(member, kind, key):
            return index
    raise NotFound(_LISTS[kind].thing, key)


def _is_named(member: Values, kind: PartKind, key: str) -> bool:
    return bool(member[_LISTS[kind].key] == _key_value(kind, key))


def _key_value(kind: PartKind, key: str) -> int | str:
    if kind is not PartKind.POSITIONS:
        return key
    return int(key) if key.isascii() and key.isdecimal() and len(key) <= 6 else key
