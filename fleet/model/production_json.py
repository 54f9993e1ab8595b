"""The production document as JSON: the facts as they are, read strictly."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

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
from fleet.model.running_order import Cue, RunningOrder, ShowAct

POSITION_KEYS = ("number", "part", "zone", "channel", "pack", "spare", "owner")


def production_as_object(production: Production) -> dict[str, Any]:
    """The production as plain JSON values."""
    made: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(production))
    return made


def production_of_object(values: Mapping[str, Any], file: str) -> Production:
    """Read a production from plain JSON values; ``file`` names it in errors.

    Raises InvalidDocument with the key and what was expected there; unknown keys are refused.
    """
    root = Table(values, file)
    root.only("name", "zones", "positions", "racks", "networks", "antenna_paths", "order", "practice")
    production = Production(
        name=root.name("name"),
        zones=root.names("zones", ZONES_MAXIMUM),
        positions=root.each("positions", POSITIONS_MAXIMUM, read_position),
        racks=root.each("racks", RACKS_MAXIMUM, rack_of),
        networks=root.each("networks", NETWORKS_MAXIMUM, network_of),
        antenna_paths=root.each("antenna_paths", PATHS_MAXIMUM, path_of),
        order=_order(root.table("order")),
        practice=practice_of(root.table("practice")),
    )
    check_production(production, file)
    return production


def read_position(row: Table) -> Position:
    """One row that names its zone."""
    row.only(*POSITION_KEYS)
    return position_of(row, row.name("zone"))


def _order(table: Table) -> RunningOrder:
    table.only("acts", "cues", "sleeps", "swaps")
    cues: list[Cue] = []
    for found in table.tables("cues", CUES_MAXIMUM):
        found.only(*CUE_KEYS, "act")
        cues.append(cue_of(found, found.identity("act"), cues[-1].planned_end_s if cues else 0))
    return RunningOrder(
        acts=table.each("acts", ACTS_MAXIMUM, _act),
        cues=tuple(cues),
        sleeps=table.each("sleeps", SLEEPS_MAXIMUM, sleep_of),
        swaps=table.each("swaps", SWAPS_MAXIMUM, swap_of),
    )


def _act(table: Table) -> ShowAct:
    table.only("act_id", "name")
    return act_of(table)
