"""Frequency plans: documents that are read, put, searched for, held against their requests and looked into."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Query
from starlette.requests import Request
from starlette.responses import Response

from api.body import INTEGER_MAXIMUM, JSON_MEDIA_TYPES, body_of, read_json
from api.declared import NamePath, answers, json_body, many, one
from api.desk import DeskHere
from api.paging import PagingHere, json_response, page, page_response
from api.plan_requests import FindRequest, SpareLookRequest
from api.problems import refusal
from api.revision import IfMatch, entity_tag, seen_revision
from api.roles import Role, SessionHere, needs
from api.shapes import components
from fleet.errors import RevisionStale
from fleet.model.plan import PLAN, Near, Search

router = APIRouter(prefix="/api/v1/plans", tags=["plans"])

FREQUENCY_MAXIMUM_HZ = 10_000_000_000
WITHIN_MAXIMUM_HZ = 10_000_000
WITHIN_DEFAULT_HZ = 100_000
_VIEWER = [needs(Role.VIEWER)]
_ENGINEER = [needs(Role.ENGINEER)]
_READS = ("not-found", "journal-unavailable")
_RECKONS = (*_READS, "limit-reached", "not-possible-now")
_WRITES = ("stale-revision", "revision-missing", "value-refused", "journal-unavailable", "limit-reached")
_DRAFT = {**components()["Plan"], "required": ["title", "request"], "additionalProperties": False}
_EXAMPLE = {
    "title": "Tonight",
    "request": {
        "raster_hz": 25_000,
        "window": [{"start_hz": 470_000_000, "stop_hz": 494_000_000}],
        "profile": [{"name": "analog", "spacing_hz": 400_000, "third_two_signal_hz": 100_000}],
        "group": [{"name": "House", "zone": "House", "profile": "analog", "count": 16}],
    },
}
_BODY = {
    "requestBody": {
        "required": True,
        "content": {"application/json": {"schema": {**_DRAFT, "examples": [_EXAMPLE]}}},
    }
}
Revision = Annotated[
    int | None, Query(ge=1, le=INTEGER_MAXIMUM, description="the plan as it stood then; as it stands when left out")
]
Zone = Annotated[str | None, Query(max_length=64, description="only of the carriers heard there; of all when left out")]


@router.get("", dependencies=_VIEWER, response_model=None, responses=answers(many("PlanFacts"), also=_READS[1:]))
async def list_plans(desk: DeskHere, asked: PagingHere) -> Response:
    """Every plan as it stands, by name, without its carriers."""
    return page(await desk.console.plans.all(), lambda each: each.name, asked)


@router.get("/{name}", dependencies=_VIEWER, response_model=None, responses=answers(one("Plan"), also=_READS))
async def show_plan(desk: DeskHere, name: NamePath, revision: Revision = None) -> Response:
    """One plan whole; the ETag is its revision."""
    plan, found = await desk.console.plans.plan(name, revision)
    return json_response(plan, 200, {"ETag": entity_tag(str(found))})


@router.put(
    "/{name}",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("Plan"), also=(*_WRITES, "not-possible-now"), body=True),
    openapi_extra=_BODY,
)
async def put_plan(
    request: Request, desk: DeskHere, session: SessionHere, name: NamePath, if_match: IfMatch = None
) -> Response:
    """Put a plan in place, all of it or nothing; a new one needs no If-Match.

    `complete` and `worst_margin_hz` are reckoned anew, whatever is sent.
    """
    values = await read_json(request, JSON_MEDIA_TYPES)
    if not isinstance(values, dict):
        raise refusal("invalid-request", "The body must be an object.")
    seen = None if if_match is None else seen_revision(if_match)
    if seen is not None and not seen.isdecimal():
        raise RevisionStale(f"{PLAN}/{name}", seen, "another", {})
    plan, revision = await desk.console.plans.put(
        session.person.name, name, values, None if seen is None else int(seen)
    )
    return json_response(plan, 200, {"ETag": entity_tag(str(revision))})


@router.get(
    "/{name}/revisions",
    dependencies=_VIEWER,
    response_model=None,
    responses=answers(many("DocumentRevision"), also=_READS),
)
async def list_revisions(desk: DeskHere, name: NamePath, asked: PagingHere) -> Response:
    """Every revision of a plan that was kept, newest first; none is ever lost."""
    before = int(asked.cursor) if asked.cursor is not None and asked.cursor.isdecimal() else INTEGER_MAXIMUM
    kept = [each for each in await desk.console.plans.revisions(name) if each.revision < before]
    shown = kept[: asked.limit]
    return page_response(shown, str(shown[-1].revision) if len(kept) > len(shown) else None)


@router.post(
    "/{name}/find",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=202,
    responses=answers(one("Job"), 202, also=_RECKONS, body=True),
    openapi_extra=json_body(FindRequest),
)
async def find_plan(
    desk: DeskHere, session: SessionHere, name: NamePath, asked: Annotated[FindRequest, Depends(body_of(FindRequest))]
) -> Response:
    """Search for a plan that its request allows; the answer is a job, which is asked how far it is.

    At its end, also when it is stopped, the plan gets the best that was found as a new revision, unless what stands
    keeps every rule and is no worse, or what was asked for was changed meanwhile. Locked carriers stay where they are.
    """
    search = Search(asked.seed, asked.seconds, asked.steps)
    job = await desk.console.plans.find(session.person.name, name, search)
    return json_response(job, 202, {"Location": f"/api/v1/jobs/{job.job_id}"})


@router.post(
    "/{name}/spares/look",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("Plan"), also=(*_READS, "stale-revision"), body=True),
    openapi_extra=json_body(SpareLookRequest),
)
async def look_at_spares(
    desk: DeskHere,
    session: SessionHere,
    name: NamePath,
    asked: Annotated[SpareLookRequest, Depends(body_of(SpareLookRequest))],
) -> Response:
    """Rank a plan's spares anew: legal beside everybody, then quiet in kept scans, then by margin and by age.

    The plan gets a new revision. A look older than ten minutes verifies nothing (common practice).
    """
    plan, revision = await desk.console.plans.look_at_spares(session.person.name, name, asked.surveys)
    return json_response(plan, 200, {"ETag": entity_tag(str(revision))})


@router.post(
    "/{name}/check",
    dependencies=_VIEWER,
    response_model=None,
    responses=answers(one("PlanVerdict"), also=_RECKONS),
)
async def check_plan(desk: DeskHere, name: NamePath) -> Response:
    """Hold a plan against its own request: which rules it breaks, where, and by how much. Nothing is changed."""
    return json_response(await desk.console.plans.check(name))


@router.get(
    "/{name}/field",
    dependencies=_VIEWER,
    response_model=None,
    responses=answers(one("ProductField"), also=_RECKONS),
)
async def show_field(desk: DeskHere, name: NamePath, zone: Zone = None) -> Response:
    """How many products of the third and the fifth order fall on each raster point of the windows."""
    return json_response(await desk.console.plans.field(name, zone))


@router.get(
    "/{name}/products",
    dependencies=_VIEWER,
    response_model=None,
    responses=answers(many("PlanProduct"), also=(*_RECKONS, "value-refused")),
)
async def list_products(
    *,
    desk: DeskHere,
    name: NamePath,
    frequency_hz: Annotated[int, Query(ge=1, le=FREQUENCY_MAXIMUM_HZ, description="where; a multiple of the raster")],
    within_hz: Annotated[
        int, Query(ge=1, le=WITHIN_MAXIMUM_HZ, description="only products less than this away")
    ] = WITHIN_DEFAULT_HZ,
    order: Annotated[Literal["3", "5"] | None, Query(description="all families of this order")] = None,
    zone: Zone = None,
) -> Response:
    """The products that fall near one frequency with their makers, the worst first, at most a thousand.

    Without an order, those of the three families that a profile has guards for.
    """
    near = Near(frequency_hz, within_hz, None if order is None else int(order), zone)
    return page_response(await desk.console.plans.products(name, near), None)
