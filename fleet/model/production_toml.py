"""Reading and writing a production document as TOML.

::

    name = "The Lamp at Tern Rock"

    [[zone]]
    name = "House"

    [[zone.position]]
    number = 1
    part = "Keeper"
    channel = "house-1/channel/1"
    pack = "pack/k01"
    spare = false               # this and owner may be left out

    [[rack]]
    name = "House rack"
    devices = ["house-1"]

    [[antenna_path]]
    feed = "House left"
    input = "house-split/input/a"     # left out where nothing splits the feed
    branches = ["house-1/carrier/1/branch/a"]

    [[act]]
    act_id = "one"
    name = "Act I"

    [[act.cue]]
    cue_id = "one-1"
    name = "The lamp is lit"
    planned_start_s = 0         # may be left out: at the end of the cue before
    duration_s = 900
    on_air = [1]

Everything but the name may be left out. ``[[network]]``, ``[[sleep]]``, ``[[swap]]`` and ``[practice]`` hold the
members that the facts of ``fleet.model`` have.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from typing import Any

import msgspec

from fleet.errors import InvalidDocument
from fleet.model.document_reader import Table
from fleet.model.production import Position, Production
from fleet.model.production_checks import check_production
from fleet.model.production_read import (
    ACTS_MAXIMUM,
    CUE_KEYS,
    CUES_MAXIMUM,
    NETWORKS_MAXIMUM,
    PATHS_MAXIMUM,
    POSITIONS_MAXIMUM,
    RACKS_MAXIMUM,
    SLEEPS_MAXIMUM,
    SWAPS_MAXIMUM,
    ZONES_MAXIMUM,
    act_of,
    cue_of,
    network_of,
    path_of,
    position_of,
    practice_of,
    rack_of,
    sleep_of,
    swap_of,
)
from fleet.model.running_order import COMMON_PRACTICE, Cue, RunningOrder, ShowAct

_ROOT_KEYS = ("name", "zone", "rack", "network", "antenna_path", "act", "sleep", "swap", "practice")
_POSITION_KEYS = ("number", "part", "channel", "pack", "spare", "owner")


def read_production(text: str, file: str) -> Production:
    """Read a production document; ``file`` names it in errors.

    Raises InvalidDocument with the key and what was expected there; unknown keys are refused.
    """
    try:
        root = Table(tomllib.loads(text), file)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InvalidDocument(file, "(the whole file)", f"TOML ({error})") from error
    root.only(*_ROOT_KEYS)
    zones = tuple(root.tables("zone", ZONES_MAXIMUM))
    production = Production(
        name=root.name("name"),
        zones=tuple(zone.name("name") for zone in zones),
        positions=tuple(position for zone in zones for position in _positions(zone)),
        racks=root.each("rack", RACKS_MAXIMUM, rack_of),
        networks=root.each("network", NETWORKS_MAXIMUM, network_of),
        antenna_paths=root.each("antenna_path", PATHS_MAXIMUM, path_of),
        order=_order(root),
        practice=practice_of(root.table("practice")),
    )
    check_production(production, file)
    return production


def _positions(zone: Table) -> Iterator[Position]:
    zone.only("name", "position")
    name = zone.name("name")
    for row in zone.tables("position", POSITIONS_MAXIMUM):
        row.only(*_POSITION_KEYS)
        yield position_of(row, name)


def _order(root: Table) -> RunningOrder:
    acts: list[ShowAct] = []
    cues: list[Cue] = []
    for table in root.tables("act", ACTS_MAXIMUM):
        table.only("act_id", "name", "cue")
        acts.append(act_of(table))
        for found in table.tables("cue", CUES_MAXIMUM):
            found.only(*CUE_KEYS)
            cues.append(cue_of(found, acts[-1].act_id, cues[-1].planned_end_s if cues else 0))
    if len(cues) > CUES_MAXIMUM:
        raise root.wrong("act", f"at most {CUES_MAXIMUM} cues", len(cues))
    sleeps = root.each("sleep", SLEEPS_MAXIMUM, sleep_of)
    return RunningOrder(tuple(acts), tuple(cues), sleeps, root.each("swap", SWAPS_MAXIMUM, swap_of))


def write_production(production: Production) -> str:
    """The production as TOML, which ``read_production`` reads as the same.

    Rows stand under their zones, so that rows of two zones that were mixed come out zone by zone.
    """
    lines = [f"name = {_value(production.name)}", ""]
    if production.practice != COMMON_PRACTICE:
        lines += _table("[practice]", msgspec.to_builtins(production.practice))
    for zone in production.zones:
        lines += _table("[[zone]]", {"name": zone})
        for position in production.positions:
            if position.zone == zone:
                lines += _table("[[zone.position]]", _without(position, "zone"))
    for header, facts in (
        ("[[rack]]", production.racks),
        ("[[network]]", production.networks),
        ("[[antenna_path]]", production.antenna_paths),
    ):
        for fact in facts:
            lines += _table(header, msgspec.to_builtins(fact))
    return "\n".join([*lines, *_order_lines(production.order)])


def _order_lines(order: RunningOrder) -> Iterator[str]:
    for act in order.acts:
        yield from _table("[[act]]", msgspec.to_builtins(act))
        for cue in order.cues:
            if cue.act == act.act_id:
                yield from _table("[[act.cue]]", _without(cue, "act"))
    for sleep in order.sleeps:
        yield from _table("[[sleep]]", msgspec.to_builtins(sleep))
    for swap in order.swaps:
        yield from _table("[[swap]]", msgspec.to_builtins(swap))


def _without(fact: Position | Cue, member: str) -> dict[str, Any]:
    return {name: value for name, value in msgspec.to_builtins(fact).items() if name != member}


def _table(header: str, values: dict[str, Any]) -> list[str]:
    """One table; what says nothing (none, false, empty) is left out."""
    said = [f"{name} = {_value(value)}" for name, value in values.items() if not _says_nothing(value)]
    return [header, *said, ""]


def _says_nothing(value: Any) -> bool:
    return value is None or value is False or value in ("", [], ())


def _value(value: Any) -> str:
    if isinstance(value, list | tuple):
        return f"[{', '.join(_value(one) for one in value)}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{name} = {_value(one)}' for name, one in value.items())} }}"
    # JSON's numbers, true and texts are TOML's, but for the delete character, which no name holds.
    return json.dumps(value, ensure_ascii=False)
