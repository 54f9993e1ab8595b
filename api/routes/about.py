"""What anybody may ask without a session: whether the console is well, and what a problem means."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path
from starlette.responses import Response

from api.answers import Health
from api.declared import one, open_answers
from api.desk import DeskHere
from api.paging import json_response
from api.problems import KINDS, refusal
from api.roles import Role, needs

router = APIRouter(tags=["about"])


@router.get("/healthz", dependencies=[needs(Role.EVERYONE)], response_model=None, responses=open_answers(one("Health")))
async def show_health(desk: DeskHere) -> Response:
    """Whether the console runs, and whether its journal is written. Watching goes on without a journal."""
    writable = desk.console.journal_status().writable
    return json_response(Health("running" if writable else "running without its journal", writable))


@router.get(
    "/api/v1/problems/{code}",
    dependencies=[needs(Role.EVERYONE)],
    response_model=None,
    responses=open_answers(one("ProblemKind"), also=("not-found",)),
)
async def explain_problem(code: Annotated[str, Path(pattern=r"^[a-z-]{1,40}$")]) -> Response:
    """What a kind of problem means and what to do next; every problem's ``type`` leads here."""
    kind = KINDS.get(code)
    if kind is None:
        raise refusal("not-found", "There is no such kind of problem.")
    return json_response(kind)
