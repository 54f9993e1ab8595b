"""Surveys: scans kept from files and from what devices sent, and what they show."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Depends, Query
from starlette.requests import Request
from starlette.responses import Response

from api.answers import FieldFault
from api.body import JSON_MEDIA_TYPES, read_json, validated
from api.declared import NamePath, answers, many, one, schema_of
from api.desk import Desk, DeskHere
from api.paging import PagingHere, json_response, page_response
from api.problems import RequestRefused, faults_problem
from api.roles import Role, SessionHere, needs
from api.survey_requests import PLACE_LENGTH_MAXIMUM, KeepScanRequest
from fleet.errors import InvalidRequest
from fleet.model.command import CommandState
from fleet.model.survey import Circumstances, ScanFacts

router = APIRouter(prefix="/api/v1/surveys", tags=["surveys"])

SCAN_ACT = "scan"
CSV = "text/csv"
AHEAD_AT_MOST = timedelta(days=1)
_VIEWER = [needs(Role.VIEWER)]
_READS = ("not-found", "journal-unavailable")
_KEEPS = (*_READS, "not-possible-now", "value-refused", "limit-reached")
_BODY = {
    "requestBody": {
        "required": True,
        "content": {
            "application/json": {"schema": schema_of(KeepScanRequest)},
            CSV: {"schema": {"type": "string", "description": "frequencies and levels, at most 32 MiB"}},
        },
    }
}
_Words = Annotated[str, Query(max_length=PLACE_LENGTH_MAXIMUM)]


@dataclass(frozen=True, slots=True)
class FileAbout:
    """What the query says of a file."""

    place: str
    instrument: str
    taken_at: str
    file: str
    bandwidth_hz: int | None

    def circumstances(self, now_utc_us: int) -> Circumstances:
        """Where, when and with what. Raises RequestRefused."""
        if not self.place:
            raise _faulty("place", "must say where the file was taken")
        words = "" if self.taken_at else "when it was taken was not said: the time is that of reading it"
        return Circumstances(
            place=self.place,
            taken_at_utc_us=_utc_us(self.taken_at, now_utc_us) if self.taken_at else now_utc_us,
            instrument=self.instrument,
            file=self.file or "survey.csv",
            words=words,
        )


async def about_file(
    *,
    place: Annotated[_Words, Query(description="of a file: where it was taken; needed")] = "",
    instrument: Annotated[_Words, Query(description="of a file: with what")] = "",
    taken_at: Annotated[_Words, Query(description="of a file: when, as ISO 8601 with an offset")] = "",
    file: Annotated[_Words, Query(description="of a file: its name")] = "",
    bandwidth_hz: Annotated[
        int | None, Query(ge=1, le=1_000_000_000, description="of a file: what each level was measured in")
    ] = None,
) -> FileAbout:
    """What the query says."""
    return FileAbout(place.strip(), instrument, taken_at, file, bandwidth_hz)


@router.get("", dependencies=_VIEWER, response_model=None, responses=answers(many("ScanFacts"), also=_READS))
async def list_surveys(desk: DeskHere, asked: PagingHere) -> Response:
    """Every scan without its levels, the latest first. The cursor is the id of the last one given."""
    known = await desk.console.surveys.all()
    names = [each.scan_id for each in known]
    first = names.index(asked.cursor) + 1 if asked.cursor in names else 0
    shown = known[first : first + asked.limit]
    return page_response(shown, shown[-1].scan_id if len(known) > first + len(shown) else None)


@router.post(
    "",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    status_code=201,
    responses=answers(one("ScanFacts"), 201, also=_KEEPS, body=True),
    openapi_extra=_BODY,
)
async def keep_survey(
    request: Request, desk: DeskHere, session: SessionHere, about: Annotated[FileAbout, Depends(about_file)]
) -> Response:
    """Keep a scan: of a file of frequencies and levels, or what finished acts `scan` have brought.

    The query says of a file where, when and with what; of acts the console knows when and with what. What is wrong
    with a file is said with its line, and nothing is kept then.
    """
    if request.headers.get("content-type", "").split(";", 1)[0].strip().lower() == CSV:
        circumstances = about.circumstances(desk.console.now().utc_us)
        with _written(await request.body()) as path:
            facts = await desk.console.surveys.keep_file(session.person.name, path, circumstances, about.bandwidth_hz)
    else:
        asked = validated(KeepScanRequest, await read_json(request, JSON_MEDIA_TYPES))
        facts = await _keep_acts(desk, session.person.name, asked)
    return json_response(facts, 201, {"Location": f"/api/v1/surveys/{facts.scan_id}"})


@router.get("/{name}", dependencies=_VIEWER, response_model=None, responses=answers(one("Scan"), also=_READS))
async def show_survey(desk: DeskHere, name: NamePath) -> Response:
    """One scan with its levels."""
    scan = await desk.console.surveys.scan(name)
    return await asyncio.to_thread(json_response, scan)


@router.get(
    "/{name}/found", dependencies=_VIEWER, response_model=None, responses=answers(one("ScanFound"), also=_READS)
)
async def show_found(
    desk: DeskHere,
    name: NamePath,
    region: Annotated[str, Query(max_length=64, description="whose blocks are looked for; none when left out")] = "",
) -> Response:
    """What a scan shows: the floor, what stands out of it, which blocks are taken, what to keep out of."""
    return json_response(await desk.console.surveys.found(name, region))


@router.get(
    "/{name}/against/{other}",
    dependencies=_VIEWER,
    response_model=None,
    responses=answers(one("ScanComparison"), also=_READS),
)
async def compare_surveys(desk: DeskHere, name: NamePath, other: NamePath) -> Response:
    """What a scan shows otherwise than another: what came, what went, what is louder or quieter."""
    return json_response(await desk.console.surveys.against(name, other))


async def _keep_acts(desk: Desk, person: str, asked: KeepScanRequest) -> ScanFacts:
    """Raises NotFound, InvalidRequest and LimitReached."""
    commands = [desk.console.command(each) for each in (*asked.earlier_command_ids, asked.command_id)]
    for command in commands:
        if command.act != SCAN_ACT or command.state is not CommandState.CONFIRMED:
            raise InvalidRequest("only what a scan has brought to its end can be kept")
    if len({each.command_id for each in commands}) != len(commands):
        raise InvalidRequest("each scan can be kept once, not twice as two sweeps")
    last = commands[-1]
    description = desk.console.device(last.device_id).description
    circumstances = Circumstances(
        place=asked.place.strip() or asked.place,
        taken_at_utc_us=last.changed_utc_us,
        instrument=last.target,
        source="act",
        simulated=description is not None and description.simulated,
    )
    levels = [desk.console.levels(each.command_id) for each in commands]
    return await desk.console.surveys.keep_acts(person, levels, circumstances)


@contextmanager
def _written(body: bytes) -> Iterator[Path]:
    """A body in a passing file, for the process that reads it."""
    with tempfile.TemporaryDirectory(prefix="redpoll-survey-") as folder:
        path = Path(folder) / "survey.csv"
        path.write_bytes(body)
        yield path


def _utc_us(text: str, now_utc_us: int) -> int:
    """A moment as people write it. Raises RequestRefused."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise _faulty("taken_at", "must be a date and a time in ISO 8601") from error
    if moment.tzinfo is None:
        raise _faulty("taken_at", "must say its offset from UTC, as in 2026-11-25T19:30:00+01:00 or …Z")
    utc_us = round(moment.timestamp() * 1_000_000)
    if not 0 <= utc_us <= now_utc_us + AHEAD_AT_MOST / timedelta(microseconds=1):
        raise _faulty("taken_at", "must be between 1970 and tomorrow")
    return utc_us


def _faulty(name: str, reason: str) -> RequestRefused:
    return RequestRefused(faults_problem((FieldFault(f"/{name}", reason),)))
