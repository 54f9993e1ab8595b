"""The one error shape of the API: problem documents (RFC 9457), and which error becomes which.

The table is the truth: each code has its status, a title and what to do next, all of which
``/api/v1/problems/{code}`` tells.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import msgspec
from starlette.responses import Response

from api.answers import Current, FieldFault, Problem
from fleet import errors

MEDIA_TYPE = "application/problem+json"
ADDRESS = "/api/v1/problems/"
_NAMES_OF_SETTINGS = "settings"


@dataclass(frozen=True, slots=True)
class ProblemKind:
    """A kind of problem: its HTTP status, its title, and what somebody who meets it does next."""

    code: str
    status: int
    title: str
    remedy: str


_KINDS = (
    ProblemKind("unreadable-body", 400, "The body can't be read", "Send one JSON value in UTF-8, at most 32 deep."),
    ProblemKind("bad-header", 400, "A header can't be understood", "Mend the header that the detail names."),
    ProblemKind("session-missing", 401, "There is no session", "Log in, or open a link that the console prints."),
    ProblemKind("login-refused", 401, "Name and password don't fit", "Try again, or ask an engineer for another one."),
    ProblemKind(
        "launch-refused", 401, "The launch link is not valid", "Links work once, for five minutes. Get another."
    ),
    ProblemKind("role-missing", 403, "Your roles don't reach this", "Ask somebody who holds the role that is named."),
    ProblemKind("host-refused", 403, "The request names another host", "Use the address that the console printed."),
    ProblemKind("origin-refused", 403, "The request comes from another site", "Use the console's own page."),
    ProblemKind("not-found", 404, "There is nothing there", "Look the name up in the list of its kind."),
    ProblemKind("method-not-allowed", 405, "That method is not offered here", "See /api/v1/openapi.json."),
    ProblemKind("not-possible-now", 409, "That can't be done as things stand", "Read the present state, then decide."),
    ProblemKind("zone-held", 409, "Another person writes in that zone", "Ask them to offer it, or wait until they go."),
    ProblemKind("command-id-reused", 409, "The command's id belongs to another command", "Use a fresh Command-Id."),
    ProblemKind("stale-revision", 412, "Somebody changed it since you read it", "Look at `current`, then write again."),
    ProblemKind("body-too-large", 413, "The body is too large", "Send at most 1 MiB, or 32 of a survey's file."),
    ProblemKind(
        "media-type-refused", 415, "The body's kind is not accepted", "Send JSON under the right Content-Type."
    ),
    ProblemKind("invalid-request", 422, "The request has the wrong shape", "Mend the members that `faults` points at."),
    ProblemKind("value-refused", 422, "The value is not allowed", "Choose one that `allowed` describes."),
    ProblemKind(
        "revision-missing", 428, "The write names no revision", "Read the settings; send their ETag as If-Match."
    ),
    ProblemKind("too-many-requests", 429, "Too many requests", "Wait as long as Retry-After says."),
    ProblemKind("limit-reached", 429, "A bound was met", "Wait until something open has ended, then try again."),
    ProblemKind(
        "console-fault", 500, "The console made a mistake", "Try again; the console's log has the particulars."
    ),
    ProblemKind(
        "journal-unavailable", 503, "The journal can't be read or written", "See to the disk; watching goes on."
    ),
    ProblemKind("console-unwell", 503, "The console is unwell", "See to what the detail names; don't restart for it."),
    ProblemKind("device-unreachable", 503, "The device can't be reached", "Wait for its return, or retry its contact."),
)
KINDS = {kind.code: kind for kind in _KINDS}


class RequestRefused(Exception):
    """A request was refused before it reached the fleet; carries its problem."""

    def __init__(self, problem: Problem, headers: dict[str, str] | None = None) -> None:
        self.problem = problem
        self.headers = headers or {}
        super().__init__(problem.detail)


def problem(code: str, detail: str, **members: Any) -> Problem:
    """A problem of that code. ``members`` are those of ``Problem`` beyond the five that every problem has."""
    kind = KINDS[code]
    return Problem(type=ADDRESS + code, title=kind.title, status=kind.status, code=code, detail=detail, **members)


def refusal(code: str, detail: str, **members: Any) -> RequestRefused:
    """An exception that carries a problem of that code."""
    return RequestRefused(problem(code, detail, **members))


def problem_response(shown: Problem, headers: dict[str, str] | None = None) -> Response:
    """The problem as an answer, with Retry-After where the problem has one."""
    sent = dict(headers or {})
    if shown.retry_after_s is not None:
        sent["Retry-After"] = str(shown.retry_after_s)
    return Response(msgspec.json.encode(shown), shown.status, sent, MEDIA_TYPE)


def problem_of(error: errors.RedpollError) -> Problem:
    """The problem that tells of one of our own errors; what isn't foreseen is the console's fault."""
    match error:
        case errors.ValueRefused():
            return _value_refused(error)
        case errors.RevisionMissing():
            return problem("revision-missing", "Read it first and send its ETag as If-Match.", address=error.address)
        case errors.RevisionStale():
            return _stale(error)
        case errors.NotPermitted():
            return problem("role-missing", f"This needs the role {error.needed}.", needed_role=error.needed)
        case _:
            return _plain_problem_of(error)


def _plain_problem_of(error: errors.RedpollError) -> Problem:
    match error:
        case errors.NotFound():
            return problem("not-found", f"There is no {error.thing} of that name.")
        case errors.CommandIdReused():
            return problem("command-id-reused", "Another command has that id; it keeps it for ten minutes.")
        case errors.ZoneHeld():
            return problem("zone-held", f"{error}.")
        case errors.InvalidRequest():
            return problem("not-possible-now", f"{error}.")
        case errors.LimitReached():
            return problem("limit-reached", f"{error}.", retry_after_s=1)
        case errors.JournalUnavailable():
            return problem("journal-unavailable", "The journal can't be read or written now.", retry_after_s=5)
        case errors.ContactFailed():
            return problem("device-unreachable", f"{error.device_id} can't be reached now.", retry_after_s=5)
        case _:
            return problem("console-fault", "The console made a mistake; its log has the particulars.")


def _value_refused(error: errors.ValueRefused) -> Problem:
    """A setting that the thing doesn't have is not repeated, since its name is the caller's."""
    if _NAMES_OF_SETTINGS in error.allowed:
        detail = "A member names no setting of this; `allowed` lists the settings it has."
        return problem("value-refused", detail, address=error.address, allowed=error.allowed)
    return problem(
        "value-refused",
        f"{error.field} {error.reason}.",
        address=error.address,
        field=error.field,
        allowed=error.allowed or None,
    )


def _stale(error: errors.RevisionStale) -> Problem:
    detail = "The settings changed since the revision you name; nothing was sent."
    return problem("stale-revision", detail, address=error.address, current=Current(error.current, error.values))


def faults_problem(faults: tuple[FieldFault, ...]) -> Problem:
    """The problem of a request with the wrong shape."""
    where = faults[0].pointer or "the body" if faults else "the request"
    reason = faults[0].reason if faults else "has the wrong shape"
    return problem("invalid-request", f"{where}: {reason}.", faults=faults)
