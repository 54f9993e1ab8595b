"""Putting a plan on the air: what it would do, doing it step by step, taking it back, and one channel in a show."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Path
from starlette.responses import Response

from api.body import body_of
from api.declared import NamePath, answers, json_body, many, one
from api.desk import DeskHere
from api.paging import PagingHere, json_response, page_response
from api.retune_requests import GuidedRetuneRequest, RetuneAnswerRequest, RetuneApplyRequest, RetunePreviewRequest
from api.roles import Role, SessionHere, needs
from fleet.ids import ID_PATTERN
from fleet.model.retune import RetuneAsk, RetuneRun, RetuneWanted

router = APIRouter(prefix="/api/v1", tags=["plans on the air"])

RunPath = Annotated[str, Path(pattern=f"^{ID_PATTERN}$", description="the run's id")]
_VIEWER = [needs(Role.VIEWER)]
_ENGINEER = [needs(Role.ENGINEER)]
_READS = ("not-found", "journal-unavailable")
_BEGINS = answers(
    one("RetuneRun"), 202, also=(*_READS, "not-possible-now", "stale-revision", "limit-reached"), body=True
)
_GUIDES = answers(
    one("RetuneRun"), 202, also=(*_READS, "not-possible-now", "value-refused", "limit-reached"), body=True
)


@router.post(
    "/plans/{name}/preview",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("RetunePreview"), also=_READS, body=True),
    openapi_extra=json_body(RetunePreviewRequest),
)
async def preview_plan(
    desk: DeskHere, name: NamePath, asked: Annotated[RetunePreviewRequest, Depends(body_of(RetunePreviewRequest))]
) -> Response:
    """The steps in a safe order, who mutes, who is orphaned, what can't be done and why. Nothing is sent."""
    ask = RetuneAsk(name, None, asked.may_sleep, False, _channels(asked))
    return json_response(await desk.console.retuner.preview(ask))


@router.post(
    "/plans/{name}/apply",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=202,
    responses=_BEGINS,
    openapi_extra=json_body(RetuneApplyRequest),
)
async def apply_plan(
    desk: DeskHere,
    session: SessionHere,
    name: NamePath,
    asked: Annotated[RetuneApplyRequest, Depends(body_of(RetuneApplyRequest))],
) -> Response:
    """Put a plan on the air, one step at a time, each verified by reports; the first that fails stops it.

    Refused while the show is live, and while another run is under way.
    """
    ask = RetuneAsk(name, asked.plan_revision, asked.may_sleep, asked.only_what_can, _channels(asked))
    return _begun(await desk.console.retuner.apply(session.person.name, ask))


@router.get("/retunes", dependencies=_VIEWER, response_model=None, responses=answers(many("RetuneFacts")))
async def list_retunes(desk: DeskHere, asked: PagingHere) -> Response:
    """The last fifty runs, the newest first; older ones are found by their ids. The cursor is the last one's id."""
    runs = desk.console.retuner.runs()
    places = {run.run_id: place for place, run in enumerate(runs, start=1)}
    start = places.get(asked.cursor or "", 0)
    shown = runs[start : start + asked.limit]
    return page_response(shown, shown[-1].run_id if len(runs) > start + len(shown) else None)


@router.post(
    "/retunes",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=202,
    responses=_GUIDES,
    openapi_extra=json_body(GuidedRetuneRequest),
)
async def guide_retune(
    desk: DeskHere, session: SessionHere, asked: Annotated[GuidedRetuneRequest, Depends(body_of(GuidedRetuneRequest))]
) -> Response:
    """Begin the guided change of one channel to a verified spare; the run asks, and its answers lead on.

    This alone is possible while the show is live.
    """
    wanted = RetuneWanted(asked.plan, asked.channel, asked.frequency_hz)
    return _begun(await desk.console.retuner.guide(session.person.name, wanted))


@router.get(
    "/retunes/{run_id}", dependencies=_VIEWER, response_model=None, responses=answers(one("RetuneRun"), also=_READS)
)
async def show_retune(desk: DeskHere, run_id: RunPath) -> Response:
    """One run: its steps with their commands, what became of each link and where it stands now, what it asks."""
    return json_response(await desk.console.retuner.run(run_id))


@router.post(
    "/retunes/{run_id}/answer",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("RetuneRun"), also=(*_READS, "not-possible-now", "value-refused"), body=True),
    openapi_extra=json_body(RetuneAnswerRequest),
)
async def answer_retune(
    desk: DeskHere, run_id: RunPath, asked: Annotated[RetuneAnswerRequest, Depends(body_of(RetuneAnswerRequest))]
) -> Response:
    """Answer what a run asks now."""
    return json_response(await desk.console.retuner.answer(run_id, asked.prompt, asked.answer))


@router.post(
    "/retunes/{run_id}/cancel",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("RetuneRun"), also=(*_READS, "not-possible-now")),
)
async def cancel_retune(desk: DeskHere, run_id: RunPath) -> Response:
    """Go no further than the step that is under way; one that waits for a hand is given up."""
    return json_response(await desk.console.retuner.cancel(run_id))


@router.post(
    "/retunes/{run_id}/roll-back",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=202,
    responses=answers(one("RetuneRun"), 202, also=(*_READS, "not-possible-now")),
)
async def roll_back_retune(desk: DeskHere, session: SessionHere, run_id: RunPath) -> Response:
    """Take back what a run did, the last first, told step by step."""
    return _begun(await desk.console.retuner.roll_back(session.person.name, run_id))


def _channels(asked: RetunePreviewRequest) -> frozenset[str] | None:
    return None if asked.channels is None else frozenset(asked.channels)


def _begun(run: RetuneRun) -> Response:
    return json_response(run, 202, {"Location": f"/api/v1/retunes/{run.run_id}"})
