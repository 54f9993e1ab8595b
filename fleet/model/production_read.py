"""The tables of a production document read into facts; how they are nested is the matter of each file format."""

from __future__ import annotations

from fleet.model.address import Place
from fleet.model.document_reader import Table
from fleet.model.production import AntennaPath, Network, Position, Rack
from fleet.model.running_order import COMMON_PRACTICE, Casting, Cue, Practice, ShowAct, Sleep, Swap

NUMBER_MAXIMUM = 99_999
ZONES_MAXIMUM = 200
POSITIONS_MAXIMUM = 2_000
RACKS_MAXIMUM = 500
NETWORKS_MAXIMUM = 100
PATHS_MAXIMUM = 1_000
DEVICES_MAXIMUM = 2_000
BRANCHES_MAXIMUM = 8_000
ACTS_MAXIMUM = 50
CUES_MAXIMUM = 1_000
SLEEPS_MAXIMUM = 200
SWAPS_MAXIMUM = 200
DAY_S = 86_400
PLANNED_MAXIMUM_S = 7 * DAY_S
MINUTES_MAXIMUM = 1_440
LEAST_DRAIN = 0.01


def position_of(row: Table, zone: str) -> Position:
    """One row; its zone is given."""
    return Position(
        number=row.whole("number", 1, NUMBER_MAXIMUM),
        part=row.name("part"),
        zone=zone,
        channel=row.address("channel", Place.CHANNEL),
        pack=row.address_or_none("pack", Place.PACK),
        spare=row.flag("spare"),
        owner=row.name("owner", empty=True),
    )


def rack_of(table: Table) -> Rack:
    """One rack."""
    table.only("name", "devices")
    return Rack(table.name("name"), table.device_ids("devices", DEVICES_MAXIMUM))


def network_of(table: Table) -> Network:
    """One network."""
    table.only("name", "devices")
    return Network(table.name("name"), table.device_ids("devices", DEVICES_MAXIMUM))


def path_of(table: Table) -> AntennaPath:
    """One antenna path."""
    table.only("feed", "input", "branches")
    return AntennaPath(
        feed=table.name("feed"),
        branches=table.addresses("branches", Place.BRANCH, BRANCHES_MAXIMUM),
        input=table.address_or_none("input", Place.INPUT),
    )


def act_of(table: Table) -> ShowAct:
    """One act, without its cues."""
    return ShowAct(table.identity("act_id"), table.name("name"))


def cue_of(table: Table, act: str, start_s: int) -> Cue:
    """One cue of an act; ``start_s`` is where it is planned to begin when it says nothing."""
    return Cue(
        cue_id=table.identity("cue_id"),
        name=table.name("name"),
        act=act,
        planned_start_s=table.whole("planned_start_s", 0, PLANNED_MAXIMUM_S, start_s),
        duration_s=table.whole("duration_s", 1, DAY_S),
        on_air=table.numbers("on_air", POSITIONS_MAXIMUM),
        castings=table.each("castings", POSITIONS_MAXIMUM, _casting),
    )


CUE_KEYS = ("cue_id", "name", "planned_start_s", "duration_s", "on_air", "castings")


def _casting(table: Table) -> Casting:
    table.only("number", "part")
    return Casting(table.whole("number", 1, NUMBER_MAXIMUM), table.name("part"))


def sleep_of(table: Table) -> Sleep:
    """One planned sleep."""
    table.only("sleep_id", "numbers", "from_cue", "until_cue")
    return Sleep(
        sleep_id=table.identity("sleep_id"),
        numbers=table.numbers("numbers", POSITIONS_MAXIMUM),
        from_cue=table.identity("from_cue"),
        until_cue=table.reference("until_cue"),
    )


def swap_of(table: Table) -> Swap:
    """One planned swap of cells."""
    table.only("swap_id", "numbers", "cue")
    return Swap(table.identity("swap_id"), table.numbers("numbers", POSITIONS_MAXIMUM), table.identity("cue"))


def practice_of(table: Table) -> Practice:
    """The production's own numbers; common practice where it says nothing."""
    usual = COMMON_PRACTICE
    table.only("swap_margin_min", "wake_lead_min", "asleep_drain_fraction")
    return Practice(
        swap_margin_min=table.whole("swap_margin_min", 0, MINUTES_MAXIMUM, usual.swap_margin_min),
        wake_lead_min=table.whole("wake_lead_min", 0, MINUTES_MAXIMUM, usual.wake_lead_min),
        asleep_drain_fraction=table.share("asleep_drain_fraction", LEAST_DRAIN, usual.asleep_drain_fraction),
    )
