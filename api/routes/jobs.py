"""Jobs: long work that runs in processes of its own, how far it is, and how it is stopped."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path
from starlette.responses import Response

from api.declared import answers, many, one
from api.desk import DeskHere
from api.paging import PagingHere, json_response, page_response
from api.roles import Role, needs

router = APIRouter(prefix="/api/v1/jobs", tags=["jobs"])

JobPath = Annotated[str, Path(pattern="^[0-9a-f]{1,64}$", description="the job's id")]


@router.get("", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("Job")))
async def list_jobs(desk: DeskHere, asked: PagingHere) -> Response:
    """The jobs that wait or run, and the last ones that ended, the newest first. The cursor is the last one's id."""
    jobs = desk.console.jobs.all()
    places = {job.job_id: place for place, job in enumerate(jobs, start=1)}
    start = places.get(asked.cursor or "", 0)
    shown = jobs[start : start + asked.limit]
    return page_response(shown, shown[-1].job_id if len(jobs) > start + len(shown) else None)


@router.get(
    "/{job_id}",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers(one("Job"), also=("not-found",)),
)
async def show_job(desk: DeskHere, job_id: JobPath) -> Response:
    """One job as it stands: how far, the best so far, and at its end which revision the plan got."""
    return json_response(desk.console.jobs.job(job_id))


@router.delete(
    "/{job_id}",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=answers(one("Job"), also=("not-found",)),
)
async def stop_job(desk: DeskHere, job_id: JobPath) -> Response:
    """Stop a job. The answer comes when it has ended, with the best it had kept; one that is over stays as it is."""
    return json_response(await desk.console.jobs.stop(job_id))
