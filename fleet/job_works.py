"""What the process of a job can do, by name. Each work is given plain JSON values and a line to the console."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Protocol

import msgspec

from fleet.errors import InvalidDocument
from fleet.job_messages import Done
from fleet.model.job import BestSoFar
from fleet.model.plan import Plan, PlanCarrier, PlanFault, PlanVerdict, Relaxation
from fleet.model.survey import Circumstances
from fleet.model.survey_json import scan_as_object
from fleet.planning.coordination.field import FAMILIES, heard_in, product_field, products_at
from fleet.planning.coordination.found import Found
from fleet.planning.coordination.plan import Carrier, check, missing
from fleet.planning.coordination.plan_document import carriers_of, request_of, request_with_locks
from fleet.planning.coordination.relaxations import gains
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.search import search
from fleet.planning.spectrum.scan import scan_of_file
from fleet.planning.what_if.question import answer, question_of

FIND, CHECK, FIELD, PRODUCTS = "find a plan", "check a plan", "field of products", "products near a frequency"
WHAT_IF, READ_SCAN = "what a change would do", "read a scan"
# What is left of the time says what relaxations would gain.
SEARCH_SHARE = 0.8


class Line(Protocol):
    """The line to the console."""

    @property
    def stopped(self) -> bool:
        """Whether the console asked for an end."""

    def now_s(self) -> float:
        """Seconds of a clock that never goes back."""

    def tell(self, progress: float, words: str, best: BestSoFar | None) -> None:
        """Say how far the work is, from 0 to 1 and in words."""


Work = Callable[[Mapping[str, Any], Line], Done]


def find(arguments: Mapping[str, Any], line: Line) -> Done:
    """Search for a plan: ``plan``, ``seed``, ``seconds`` at the most, and where given ``steps`` at the most.

    Where not everybody gets a place, what is left of the time says what each relaxation would gain.
    """
    plan, _, file = _given(arguments)
    request = request_with_locks(plan, file)
    seed, seconds, steps, began_s = arguments["seed"], arguments["seconds"], arguments["steps"], line.now_s()
    told: tuple[Found, BestSoFar] | None = None

    def share() -> float:
        return float((line.now_s() - began_s) / seconds)

    def should_stop(best: Found) -> bool:
        nonlocal told
        if told is None or told[0].score != best.score:
            told = (best, best_so_far(request, best))
        done = max(share() / SEARCH_SHARE, best.steps / steps if steps else 0.0)
        line.tell(min(1.0, SEARCH_SHARE * done), words_of(best), told[1])
        return line.stopped or done >= 1.0

    best = search(request, seed, should_stop)
    gained = gains(request, best, seed, lambda: line.stopped or share() >= 1.0)
    words = tuple(Relaxation(each.words, each.carriers, each.gain) for each in gained)
    took = {"seconds": round(line.now_s() - began_s, 3)}
    return Done(words_of(best), took, replace(best_so_far(request, best), relaxations=words))


def check_plan(arguments: Mapping[str, Any], _: Line) -> Done:
    """Hold a plan against its own request: a ``PlanVerdict``."""
    plan, request, file = _given(arguments)
    carriers = carriers_of(plan, request, file)
    verdict, lacks = check(request, carriers), missing(request, carriers)
    faults = tuple(
        PlanFault(fault.rule, fault.frequency_hz, fault.short_hz, fault.short_db) for fault in verdict.faults
    )
    return Done("", msgspec.to_builtins(PlanVerdict(faults, verdict.worst_margin_hz, verdict.worst_ratio_db, lacks)))


def field_of_products(arguments: Mapping[str, Any], _: Line) -> Done:
    """How many products fall where, of those heard in ``zone`` or of all: a ``ProductField``."""
    plan, request, file = _given(arguments)
    heard = heard_in(request, carriers_of(plan, request, file), arguments["zone"])
    return Done("", msgspec.to_builtins(product_field(request, heard)))


def products_near_frequency(arguments: Mapping[str, Any], _: Line) -> Done:
    """The products near ``frequency_hz``, the worst first: of an ``order``, or of the families with guards."""
    plan, request, file = _given(arguments)
    heard = heard_in(request, carriers_of(plan, request, file), arguments["zone"])
    families = FAMILIES[arguments["order"]]
    found = products_at(request, heard, arguments["frequency_hz"], arguments["within_hz"], families)
    return Done("", {"products": msgspec.to_builtins(found)})


def what_a_change_would_do(arguments: Mapping[str, Any], _: Line) -> Done:
    """What the changes of a ``question`` would do to a plan's carriers: a ``Forecast``."""
    plan = msgspec.convert(arguments["plan"], Plan)
    return Done("", msgspec.to_builtins(answer(plan, question_of(arguments["question"]))))


def read_scan(arguments: Mapping[str, Any], line: Line) -> Done:
    """The scan in the file at ``path``: its body as ``scan`` and what was ``told``, or what is ``wrong`` with it."""
    about = msgspec.convert(arguments["circumstances"], Circumstances)
    try:
        with Path(arguments["path"]).open("rb") as file:
            found = scan_of_file("", file, about, arguments["bandwidth_hz"], lambda _: line.stopped)
    except InvalidDocument as error:
        return Done("", {"wrong": {"key": error.key, "expected": error.expected}})
    if found is None:
        return Done("", {"wrong": {"key": "file", "expected": "a reading that nobody stops"}})
    scan, read = found
    return Done("", {"scan": scan_as_object(scan), "told": list(read.told)})


WORKS: Mapping[str, Work] = {
    FIND: find,
    CHECK: check_plan,
    FIELD: field_of_products,
    PRODUCTS: products_near_frequency,
    WHAT_IF: what_a_change_would_do,
    READ_SCAN: read_scan,
}


def best_so_far(request: Request, found: Found) -> BestSoFar:
    """What a search has found, with frequencies in place of raster points."""
    return BestSoFar(
        carriers=_plan_carriers(request, found.carriers),
        asked=found.asked,
        worst_margin_hz=found.worst_margin_hz,
        steps=found.steps,
        spares=_plan_carriers(request, found.spares),
        at_most=found.at_most,
    )


def _plan_carriers(request: Request, carriers: tuple[Carrier, ...]) -> tuple[PlanCarrier, ...]:
    groups = request.group
    return tuple(
        PlanCarrier(groups[each.group].name, groups[each.group].zone, each.point * request.raster_hz)
        for each in carriers
    )


def words_of(found: Found) -> str:
    """How far a search is."""
    return f"{len(found.carriers)} of {found.asked} carriers stand after {found.steps} steps"


def _given(arguments: Mapping[str, Any]) -> tuple[Plan, Request, str]:
    file: str = arguments["file"]
    plan = msgspec.convert(arguments["plan"], Plan)
    return plan, request_of(plan, file), file
