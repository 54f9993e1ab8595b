"""What must be so before a device is written to: guarded things unlocked, and the lease of one that leases."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from api.body import body_of
from api.declared import NamePath, answers, json_body, one
from api.desk import DeskHere
from api.paging import json_response
from api.requests import UnlockRequest
from api.roles import Role, SessionHere, needs
from fleet.model.inputs import LockDevice, TakeLease, UnlockDevice

router = APIRouter(prefix="/api/v1/devices", tags=["permits"])

_ALSO = ("not-found", "not-possible-now", "journal-unavailable")
_ENGINEER = [needs(Role.ENGINEER)]


@router.post(
    "/{device_id}/unlock",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("DeviceView"), also=_ALSO, body=True),
    openapi_extra=json_body(UnlockRequest),
)
async def unlock_device(
    desk: DeskHere,
    session: SessionHere,
    device_id: NamePath,
    asked: Annotated[UnlockRequest, Depends(body_of(UnlockRequest))],
) -> Response:
    """Unlock what is guarded at a device, for ten minutes at the most; it locks itself again.

    Guarded things may hurt somebody's hearing: know who wears what hangs on them. Who did it and why is journalled.
    """
    act = UnlockDevice(device_id, asked.reason, asked.minutes)
    return json_response(await desk.console.execute(session.person.name, act))


@router.post(
    "/{device_id}/lock",
    dependencies=_ENGINEER,
    response_model=None,
    responses=answers(one("DeviceView"), also=_ALSO),
)
async def lock_device(desk: DeskHere, session: SessionHere, device_id: NamePath) -> Response:
    """Lock what is guarded at a device before its time."""
    return json_response(await desk.console.execute(session.person.name, LockDevice(device_id)))


@router.post(
    "/{device_id}/lease",
    dependencies=_ENGINEER,
    response_model=None,
    status_code=202,
    responses=answers(one("DeviceView"), 202, also=_ALSO),
)
async def take_lease(desk: DeskHere, session: SessionHere, device_id: NamePath) -> Response:
    """Take the lease of a device from whoever holds it. Who has it then, the device tells a moment later.

    Without it a device that leases takes neither writes nor acts from here. Ask the other desk first.
    """
    return json_response(await desk.console.execute(session.person.name, TakeLease(device_id)), 202)
