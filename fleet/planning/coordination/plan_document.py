"""A plan document read strictly, and held against its own request: groups, zones, raster."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from fleet.errors import InvalidDocument
from fleet.model.address import Place
from fleet.model.document_reader import Table
from fleet.model.plan import BandSource, Plan, PlanCarrier, PlanSpare, Relaxation
from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.reading import request_of_values
from fleet.planning.coordination.request import CARRIERS_MAXIMUM, Request

FREQUENCY_MAXIMUM_HZ = 10_000_000_000
MARGIN_MAXIMUM_HZ = FREQUENCY_MAXIMUM_HZ
SPARES_MAXIMUM = 5_000
RELAXATIONS_MAXIMUM = 100
BANDS_MAXIMUM = 200
SEED_MAXIMUM = STEPS_MAXIMUM = 2**53 - 1
SECONDS_MAXIMUM = 86_400.0
WORDS_LENGTH_MAXIMUM = 300
QUIET_DBM = (-200.0, 100.0)
LOCKED = "locked_hz"
"""The key of a group under which those of its carriers stand that keep their places."""
_MEMBERS = (
    "title",
    "request",
    "carriers",
    "spares",
    "complete",
    "worst_margin_hz",
    "seed",
    "steps",
    "seconds",
    "relaxations",
    "bands",
)


def plan_of_values(values: Mapping[str, Any], file: str) -> Plan:
    """A plan in plain JSON values; ``file`` names it in errors.

    Raises InvalidDocument with the key and what was expected there: unknown keys, a request that can't be read,
    carriers and spares of groups or places that the request doesn't have.
    """
    root = Table(values, file)
    root.only(*_MEMBERS)
    request = root.table("request").values
    plan = Plan(
        title=root.name("title"),
        request=dict(request),
        carriers=root.each("carriers", CARRIERS_MAXIMUM, _carrier),
        spares=root.each("spares", SPARES_MAXIMUM, _spare),
        complete=root.flag("complete"),
        worst_margin_hz=_whole_or_none(root, "worst_margin_hz", -MARGIN_MAXIMUM_HZ, MARGIN_MAXIMUM_HZ),
        seed=root.whole("seed", 0, SEED_MAXIMUM, 0),
        steps=root.whole("steps", 0, STEPS_MAXIMUM, 0),
        seconds=_number(root, "seconds", (0.0, SECONDS_MAXIMUM), 0.0),
        relaxations=root.each("relaxations", RELAXATIONS_MAXIMUM, _relaxation),
        bands=root.each("bands", BANDS_MAXIMUM, _band),
    )
    stands = request_of(plan, file)
    carriers_of(plan, stands, file)
    _placed(plan.spares, stands, Table(values, file), "spares")
    return plan


def request_of(plan: Plan, file: str) -> Request:
    """The request of a plan. Raises InvalidDocument; its keys begin with ``request``."""
    try:
        return request_of_values(plan.request, file)
    except InvalidDocument as error:
        key = "request" if error.key == "document" else f"request.{error.key}"
        raise InvalidDocument(file, key, error.expected, error.found) from error


def request_with_locks(plan: Plan, file: str) -> Request:
    """The request of a plan whose locked carriers stand already. Raises InvalidDocument where they contradict it."""
    request_of(plan, file)
    locked: dict[str, list[int]] = {}
    for carrier in plan.carriers:
        if carrier.locked:
            locked.setdefault(carrier.group, []).append(carrier.frequency_hz)
    groups = [{**group, LOCKED: _held(group, locked.get(group["name"], []))} for group in plan.request["group"]]
    return request_of(replace(plan, request={**plan.request, "group": groups}), file)


def _held(group: Mapping[str, Any], locked_hz: list[int]) -> list[int]:
    """The group's own locks and those of the plan, each once; what is fixed needs none."""
    both = dict.fromkeys([*group.get(LOCKED, ()), *locked_hz])
    return [frequency_hz for frequency_hz in both if frequency_hz not in group.get("fixed_hz", ())]


def carriers_of(plan: Plan, request: Request, file: str) -> tuple[Carrier, ...]:
    """The carriers of a plan as its request counts them.

    Raises InvalidDocument for a group or a zone that the request doesn't have, off the raster, and one that repeats.
    """
    return _placed(plan.carriers, request, Table({}, file), "carriers")


def _placed(rows: Sequence[PlanCarrier | PlanSpare], request: Request, root: Table, member: str) -> tuple[Carrier, ...]:
    groups = {group.name: index for index, group in enumerate(request.group)}
    found: dict[Carrier, None] = {}
    for number, row in enumerate(rows):
        key = f"{member}[{number}]"
        if row.group not in groups:
            raise root.wrong(f"{key}.group", "a group of the request", row.group)
        zone = request.group[groups[row.group]].zone
        if row.zone != zone:
            raise root.wrong(f"{key}.zone", "the zone of its group", row.zone)
        if row.frequency_hz % request.raster_hz:
            raise root.wrong(f"{key}.frequency_hz", f"a multiple of {request.raster_hz}, in Hz", row.frequency_hz)
        carrier = Carrier(groups[row.group], row.frequency_hz // request.raster_hz)
        if carrier in found:
            raise root.wrong(f"{key}.frequency_hz", "each carrier once", row.frequency_hz)
        found[carrier] = None
    return tuple(found)


def _carrier(row: Table) -> PlanCarrier:
    row.only("group", "zone", "frequency_hz", "locked", "channel")
    return PlanCarrier(
        group=row.name("group"),
        zone=row.name("zone"),
        frequency_hz=row.whole("frequency_hz", 1, FREQUENCY_MAXIMUM_HZ),
        locked=row.flag("locked"),
        channel=row.address_or_none("channel", Place.CHANNEL),
    )


def _spare(row: Table) -> PlanSpare:
    row.only("group", "zone", "frequency_hz", "rank", "quiet_at_utc_us", "quiet_dbm")
    quiet = row.values.get("quiet_dbm")
    return PlanSpare(
        group=row.name("group"),
        zone=row.name("zone"),
        frequency_hz=row.whole("frequency_hz", 1, FREQUENCY_MAXIMUM_HZ),
        rank=row.whole("rank", 1, SPARES_MAXIMUM),
        quiet_at_utc_us=_whole_or_none(row, "quiet_at_utc_us", 0, SEED_MAXIMUM),
        quiet_dbm=None if quiet is None else _number(row, "quiet_dbm", QUIET_DBM, 0.0),
    )


def _relaxation(row: Table) -> Relaxation:
    row.only("words", "carriers", "gain")
    return Relaxation(
        words=_words(row, "words"),
        carriers=row.whole("carriers", 0, CARRIERS_MAXIMUM),
        gain=row.whole("gain", 0, CARRIERS_MAXIMUM),
    )


def _band(row: Table) -> BandSource:
    row.only("words", "source", "dated", "unverified")
    return BandSource(
        words=_words(row, "words"),
        source=_words(row, "source", ""),
        dated=_words(row, "dated", ""),
        unverified=True if "unverified" not in row.values else row.flag("unverified"),
    )


def _words(table: Table, name: str, default: str | None = None) -> str:
    """A sentence that people read; it must be there unless there is a default."""
    found = table.values.get(name, default)
    if not isinstance(found, str) or len(found) > WORDS_LENGTH_MAXIMUM or not found.isprintable():
        raise table.wrong(name, f"at most {WORDS_LENGTH_MAXIMUM} printable characters", found)
    return found


def _whole_or_none(table: Table, name: str, least: int, most: int) -> int | None:
    return None if table.values.get(name) is None else table.whole(name, least, most)


def _number(table: Table, name: str, within: tuple[float, float], default: float) -> float:
    found = table.values.get(name, default)
    least, most = within
    if not isinstance(found, int | float) or isinstance(found, bool) or not least <= found <= most:
        raise table.wrong(name, f"a number from {least:g} to {most:g}", found)
    return float(found)
