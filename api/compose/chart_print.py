"""The command ``redpoll chart print``: a plan as a page, as JSON, or as a list for the neighbours."""

from __future__ import annotations

import json
import sys
import tomllib
from pathlib import Path

from api.compose.chart import EXIT_GOOD, load_plan, load_request
from fleet.clock import SystemClock
from fleet.errors import InvalidDocument
from fleet.model.plan import Plan, PlanCarrier
from fleet.planning.coordination.field import product_field
from fleet.planning.coordination.plan import check, missing
from fleet.planning.handout.neighbours import for_neighbours, protected_of
from fleet.planning.handout.page import Print, plan_page
from fleet.planning.handout.tables import plan_as_json


def print_plan(plan_file: Path, request_file: Path, form: str, title: str, place: str) -> int:
    """Print a plan in one of the forms; returns the exit code. Raises InvalidDocument."""
    request = load_request(request_file)
    carriers = load_plan(plan_file, request)
    verdict = check(request, carriers)
    groups, raster_hz = request.group, request.raster_hz
    plan = Plan(
        title=title or plan_file.stem,
        request=tomllib.loads(request_file.read_text(encoding="utf-8")),
        carriers=tuple(
            PlanCarrier(groups[each.group].name, groups[each.group].zone, each.point * raster_hz) for each in carriers
        ),
        complete=not verdict.faults and not missing(request, carriers),
        worst_margin_hz=verdict.worst_margin_hz,
    )
    match form:
        case "json":
            text = plan_as_json(plan)
        case "neighbours":
            text = for_neighbours(plan, place)
        case _:
            made = Print(0, SystemClock().utc_us(), {})
            text = plan_page(plan, made, product_field(request, carriers) if carriers else None)
    sys.stdout.write(text)
    return EXIT_GOOD


def print_protected(file: Path, raster_hz: int) -> int:
    """Print a neighbour's list as protected carriers, ready for a request; returns the exit code.

    Raises InvalidDocument.
    """
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidDocument(str(file), "file", "a readable JSON file", str(error)) from error
    for each in protected_of(text, str(file), max(1, raster_hz)):
        words = json.dumps(each["words"], ensure_ascii=False)
        spacing = f"frequency_hz = {each['frequency_hz']}\nspacing_hz = {each['spacing_hz']}"
        sys.stdout.write(f"[[protected]]\n{spacing}\nwords = {words}\n")
    return EXIT_GOOD
