"""The list of occupied spectrum for the neighbours: where, how wide, from when to when. No parts, groups, packs, keys.

What a neighbour sends back becomes the protected carriers of one's own request.
"""

from __future__ import annotations

import json
from typing import Annotated, Any

import msgspec
from msgspec import Meta

from fleet.errors import InvalidDocument
from fleet.model.plan import Plan, PlanCarrier, PlanSpare
from fleet.planning.coordination.caution import CAUTION
from fleet.planning.coordination.plan_document import request_of
from fleet.planning.coordination.request import CARRIERS_MAXIMUM, Frequency, Spacing, Words

FORMAT = "occupied spectrum"
VERSION = 1


class Occupied(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One carrier: its frequency, and how far others keep off it."""

    frequency_hz: Frequency
    spacing_hz: Spacing


class Exchange(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What is occupied at a place; times are UTC in words of ISO 8601, empty where they aren't said."""

    format: str
    version: int
    place: Words
    carriers: Annotated[tuple[Occupied, ...], Meta(max_length=CARRIERS_MAXIMUM)]
    from_utc: Words = ""
    until_utc: Words = ""
    caution: Annotated[str, Meta(max_length=1_000)] = CAUTION


def for_neighbours(plan: Plan, place: str, from_utc: str = "", until_utc: str = "") -> str:
    """A plan's carriers and spares as the list that neighbours get. Raises InvalidDocument for no request."""
    request = request_of(plan, "plan")
    spacings = {group.name: request.profile_of(group).spacing_hz for group in request.group}
    widest: dict[int, int] = {}
    standing: tuple[PlanCarrier | PlanSpare, ...] = (*plan.carriers, *plan.spares)
    for each in standing:
        widest[each.frequency_hz] = max(spacings[each.group], widest.get(each.frequency_hz, 0))
    carriers = tuple(Occupied(frequency_hz, spacing_hz) for frequency_hz, spacing_hz in sorted(widest.items()))
    exchange = Exchange(FORMAT, VERSION, place, carriers, from_utc, until_utc)
    return json.dumps(msgspec.to_builtins(exchange), ensure_ascii=False, indent=1) + "\n"


def protected_of(text: str, file: str, raster_hz: int) -> list[dict[str, Any]]:
    """A neighbour's list as the protected carriers of a request, each on the raster point nearest to it.

    What a carrier is moved by is added to its spacing. Raises InvalidDocument with what was expected.
    """
    try:
        exchange = msgspec.json.decode(text, type=Exchange)
    except msgspec.ValidationError as error:
        raise InvalidDocument(file, "document", "a list of occupied spectrum", str(error)) from error
    except msgspec.DecodeError as error:
        raise InvalidDocument(file, "document", "JSON", str(error)) from error
    if (exchange.format, exchange.version) != (FORMAT, VERSION):
        expected = f"{FORMAT!r}, version {VERSION}"
        raise InvalidDocument(file, "format", expected, f"{exchange.format!r}, version {exchange.version}")
    return [_protected(each, exchange.place, raster_hz) for each in exchange.carriers]


def _protected(each: Occupied, place: str, raster_hz: int) -> dict[str, Any]:
    nearest_hz = max(1, round(each.frequency_hz / raster_hz)) * raster_hz
    spacing_hz = each.spacing_hz + abs(nearest_hz - each.frequency_hz)
    return {"frequency_hz": nearest_hz, "spacing_hz": spacing_hz, "words": place}
