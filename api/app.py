"""The console's API as one application: the door, the routes, the one shape of errors."""

from __future__ import annotations

import logging
from functools import cache, partial
from http import HTTPStatus
from pathlib import Path

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from api import live
from api.answers import Problem
from api.body import faults_of
from api.desk import Desk
from api.door import Allowed, DoorMiddleware, RateBound
from api.openapi import openapi_document
from api.problems import RequestRefused, faults_problem, problem, problem_of, problem_response
from api.roles import role_table
from api.routes import (
    about,
    acts,
    alarms,
    commands,
    device_list,
    device_tokens,
    devices,
    jobs,
    journal,
    people,
    permits,
    plan_apply,
    plan_export,
    plan_what_if,
    plans,
    production,
    regions,
    rules,
    session,
    sessions,
    settings,
    show,
    surveys,
    zones,
)
from api.routes.pages import pages
from fleet.errors import RedpollError

SCREEN = Path(__file__).resolve().parent.parent / "ui" / "dist"

_log = logging.getLogger("redpoll.api")


def create_app(desk: Desk, allowed: Allowed, *, screen: Path = SCREEN, rate: RateBound | None = None) -> FastAPI:
    """The application.

    Raises RoleUndeclared when a route doesn't say who may use it.
    """
    app = FastAPI(
        title="Redpoll",
        version=desk.version,
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
    )
    app.state.desk = desk
    documents = (production, show, rules)
    modules = (session, devices, settings, acts, permits, commands, alarms, journal, *documents, about, live)
    of_plans = (plans, plan_apply, plan_export, plan_what_if, jobs)
    of_surveys = (surveys, regions)
    of_devices = (device_list, device_tokens)
    of_people = (sessions, people, zones)
    every = (*modules, *of_plans, *of_surveys, *of_devices, *of_people)
    for router in (*(module.router for module in every), pages(screen)):
        # Each router holds its own prefix; added flat, every route can be asked for its role.
        app.router.routes.extend(router.routes)
    role_table(app.routes)
    _word_errors(app)
    app.add_middleware(DoorMiddleware, allowed=allowed, rate=rate or RateBound(desk.clock))
    app.openapi = cache(partial(openapi_document, app, desk.version))  # type: ignore[method-assign]  # FastAPI's own way.
    return app


def _word_errors(app: FastAPI) -> None:
    app.add_exception_handler(RequestRefused, _answer)
    app.add_exception_handler(RedpollError, _answer)
    app.add_exception_handler(RequestValidationError, _answer)
    app.add_exception_handler(HTTPException, _answer)


async def _answer(_: Request, error: Exception) -> Response:
    return problem_response(_problem(error), _headers(error))


def _problem(error: Exception) -> Problem:
    match error:
        case RequestRefused():
            return error.problem
        case RequestValidationError():
            found = error.errors()
            # Where a parameter is declared, its name is ours.
            ours = frozenset(part for one in found for part in one["loc"] if isinstance(part, str))
            return faults_problem(faults_of(found, ours))
        case HTTPException(status_code=404):
            return problem("not-found", "There is nothing at that address.")
        case HTTPException(status_code=405):
            return problem("method-not-allowed", "That method is not offered at that address.")
        case RedpollError():
            return _ours(error)
        case _:
            _log.error("not foreseen: %s", type(error).__name__)
            return problem("console-fault", "The console made a mistake; its log has the particulars.")


def _ours(error: RedpollError) -> Problem:
    shown = problem_of(error)
    if shown.status >= HTTPStatus.INTERNAL_SERVER_ERROR:
        _log.error("%s: %s", type(error).__name__, ascii(str(error)))
    return shown


def _headers(error: Exception) -> dict[str, str]:
    headers = getattr(error, "headers", None)
    return dict(headers) if headers else {}
