"""The command ``redpoll chart print``: a plan as a page, as JSON, or as a list for the neighbours."""

from __future__ import annotations

import sys
import tomllib
from datetime import UTC, datetime
from pathlib import Path

from api.compose.chart import EXIT_GOOD, load_plan, load_request
from fleet.clock import MICROSECONDS_PER_SECOND, SystemClock
from fleet.model.plan import Plan, PlanCarrier
from fleet.planning.coordination.field import product_field
from fleet.planning.coordination.plan import check
from fleet.planning.handout.neighbours import for_neighbours
from fleet.planning.handout.page import Print, plan_page
from fleet.planning.handout.tables import plan_as_json

FORMS = ("page", "json", "neighbours")


def print_plan(plan_file: Path, request_file: Path, form: str, title: str) -> int:
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
        complete=len(carriers) == request.asked and not verdict.faults,
        worst_margin_hz=verdict.worst_margin_hz,
    )
    match form:
        case "json":
            text = plan_as_json(plan)
        case "neighbours":
            text = for_neighbours(plan, plan.title)
        case _:
            text = plan_page(plan, _print(), product_field(request, carriers) if carriers else None)
    sys.stdout.write(text)
    return EXIT_GOOD


def _print() -> Print:
    at_utc_us = SystemClock().utc_us()
    printed = datetime.fromtimestamp(at_utc_us / MICROSECONDS_PER_SECOND, UTC).strftime("%Y-%m-%d %H:%M UTC")
    return Print(0, at_utc_us, printed, {})
