"""Commands and what became of them."""

from __future__ import annotations

import asyncio
import contextlib
from typing import Annotated

from fastapi import APIRouter, Depends, Path
from starlette.responses import Response

from api.body import body_of
from api.declared import answers, json_body, many, one
from api.desk import Desk, DeskHere
from api.paging import PagingHere, json_response, page_response
from api.requests import CloseRequest
from api.roles import Role, SessionHere, needs
from fleet.errors import NotFound
from fleet.ids import COMMAND_ID_PATTERN
from fleet.model.command import Command
from fleet.model.inputs import CancelCommand, CloseUnknown

router = APIRouter(prefix="/api/v1/commands", tags=["commands"])

CommandPath = Annotated[str, Path(pattern=f"^{COMMAND_ID_PATTERN}$", description="the command's id")]
_ONE = answers(one("Command"), also=("not-found", "journal-unavailable"))
_ENDED = answers(one("Command"), 200, also=("not-found", "not-possible-now", "journal-unavailable"), body=False)


@router.get(
    "",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers(many("Command"), also=("not-found", "journal-unavailable")),
)
async def list_commands(desk: DeskHere, asked: PagingHere) -> Response:
    """Every command, the newest first. The cursor is the id of the last one given."""
    before = None if asked.cursor is None else await _find(desk, asked.cursor)
    found = await asyncio.to_thread(desk.console.reader.commands, before, asked.limit)
    live = {command.command_id: command for command in desk.console.commands()}
    shown = [live.get(command.command_id, command) for command in found]
    return page_response(shown, shown[-1].command_id if len(shown) == asked.limit else None)


@router.get("/{command_id}", dependencies=[needs(Role.VIEWER)], response_model=None, responses=_ONE)
async def show_command(desk: DeskHere, command_id: CommandPath) -> Response:
    """One command as it stands."""
    return json_response(await _find(desk, command_id))


@router.get(
    "/{command_id}/levels",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers(one("ScanLevels"), also=("not-found",)),
)
async def show_levels(desk: DeskHere, command_id: CommandPath) -> Response:
    """What a scan that is under way, or was asked for lately, has found so far: levels only."""
    return json_response(desk.console.levels(command_id))


@router.post("/{command_id}/cancel", dependencies=[needs(Role.OPERATOR)], response_model=None, responses=_ENDED)
async def cancel_command(desk: DeskHere, session: SessionHere, command_id: CommandPath) -> Response:
    """Give up a command that waits. One that was sent may take effect all the same; its state will tell."""
    await desk.console.execute(session.person.name, CancelCommand(command_id))
    return json_response(await _find(desk, command_id))


@router.post(
    "/{command_id}/close",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=answers(
        one("Command"),
        also=("not-found", "not-possible-now", "journal-unavailable"),
        body=True,
    ),
    openapi_extra=json_body(CloseRequest),
)
async def close_command(
    desk: DeskHere,
    session: SessionHere,
    command_id: CommandPath,
    asked: Annotated[CloseRequest, Depends(body_of(CloseRequest))],
) -> Response:
    """Close a command whose outcome nothing can tell; who did it and why goes into the journal."""
    await desk.console.execute(session.person.name, CloseUnknown(command_id, asked.reason))
    return json_response(await _find(desk, command_id))


async def _find(desk: Desk, command_id: str) -> Command:
    """The live picture knows the recent ones, the journal all."""
    with contextlib.suppress(NotFound):
        return desk.console.command(command_id)
    return await asyncio.to_thread(desk.console.reader.command, command_id)
