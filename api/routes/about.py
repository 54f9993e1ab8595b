"""What anybody may ask without a session: whether the console is well, and what a problem means."""

from __future__ import annotations

from ipaddress import ip_address
from typing import Annotated

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from api.declared import one, open_answers
from api.desk import DeskHere
from api.health import health_of, troubles_of
from api.metrics import CONTENT_TYPE, metrics_text
from api.paging import json_response
from api.problems import KINDS, refusal
from api.roles import Role, needs, require, session_of

router = APIRouter(tags=["about"])


@router.get(
    "/healthz",
    dependencies=[needs(Role.EVERYONE)],
    response_model=None,
    responses=open_answers(one("Health"), also=("console-unwell",)),
)
async def show_health(desk: DeskHere) -> Response:
    """Whether the console is well; 503 with what is wrong when it isn't, which is no reason to end the watch."""
    troubles = troubles_of(desk.console)
    if troubles:
        raise refusal("console-unwell", " ".join(troubles))
    return json_response(health_of(desk.console))


@router.get(
    "/metrics",
    dependencies=[needs(Role.EVERYONE)],
    response_model=None,
    response_class=PlainTextResponse,
    responses=open_answers({}, also=("session-missing", "role-missing")),
)
async def show_metrics(request: Request, desk: DeskHere) -> Response:
    """The console's figures for Prometheus: for this machine, and for viewers from elsewhere. Ids, and no names."""
    if not _is_from_this_machine(request):
        require(session_of(request).person, Role.VIEWER)
    text = metrics_text(desk.console, desk.version, desk.live.open)
    return Response(text, headers={"Content-Type": CONTENT_TYPE})


def _is_from_this_machine(request: Request) -> bool:
    try:
        return request.client is not None and ip_address(request.client.host).is_loopback
    except ValueError:
        return False


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
