"""Devices, and the rows of branches, carriers, channels and packs with their latest readings."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from api.declared import NamePath, answers, many, one
from api.desk import Desk, DeskHere
from api.paging import PagingHere, json_response, page
from api.roles import Role, needs
from api.rows import rows_of
from fleet.errors import NotFound
from fleet.model.address import Place
from fleet.model.device import DeviceView

router = APIRouter(prefix="/api/v1", tags=["devices"])


@router.get("/devices", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("DeviceView")))
async def list_devices(desk: DeskHere, asked: PagingHere) -> Response:
    """Every device, with the console's contact with it and what it says of itself."""
    return page(desk.console.devices(), lambda device: device.device_id, asked)


@router.get(
    "/devices/{device_id}",
    dependencies=[needs(Role.VIEWER)],
    response_model=None,
    responses=answers(one("DeviceView"), also=("not-found",)),
)
async def show_device(desk: DeskHere, device_id: NamePath) -> Response:
    """One device."""
    return json_response(_device(desk, device_id))


@router.post(
    "/devices/{device_id}/retry",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    status_code=202,
    responses=answers(one("DeviceView"), 202, also=("not-found",)),
)
async def retry_device(desk: DeskHere, device_id: NamePath) -> Response:
    """Try to reach a device at once, without waiting for the next attempt; answers with how things stand now."""
    desk.console.retry_now(device_id)
    return json_response(_device(desk, device_id), 202)


@router.get("/branches", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("RowView")))
async def list_branches(desk: DeskHere, asked: PagingHere) -> Response:
    """Every branch, an antenna input of a carrier, with its level and noise floor."""
    return page(rows_of(desk.console, Place.BRANCH), lambda row: row.address, asked)


@router.get("/carriers", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("RowView")))
async def list_carriers(desk: DeskHere, asked: PagingHere) -> Response:
    """Every carrier with its latest readings."""
    return page(rows_of(desk.console, Place.CARRIER), lambda row: row.address, asked)


@router.get("/channels", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("RowView")))
async def list_channels(desk: DeskHere, asked: PagingHere) -> Response:
    """Every channel with its latest readings."""
    return page(rows_of(desk.console, Place.CHANNEL), lambda row: row.address, asked)


@router.get("/packs", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("RowView")))
async def list_packs(desk: DeskHere, asked: PagingHere) -> Response:
    """Every pack with its latest readings."""
    return page(rows_of(desk.console, Place.PACK), lambda row: row.address, asked)


@router.get("/outputs", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("RowView")))
async def list_outputs(desk: DeskHere, asked: PagingHere) -> Response:
    """Every output that a device describes."""
    return page(rows_of(desk.console, Place.OUTPUT), lambda row: row.address, asked)


@router.get("/inputs", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("RowView")))
async def list_inputs(desk: DeskHere, asked: PagingHere) -> Response:
    """Every antenna socket of a distribution, with what its feed draws."""
    return page(rows_of(desk.console, Place.INPUT), lambda row: row.address, asked)


@router.get("/bays", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("RowView")))
async def list_bays(desk: DeskHere, asked: PagingHere) -> Response:
    """Every bay of a charger, with the cells in it."""
    return page(rows_of(desk.console, Place.BAY), lambda row: row.address, asked)


def _device(desk: Desk, device_id: str) -> DeviceView:
    found = next((device for device in desk.console.devices() if device.device_id == device_id), None)
    if found is None:
        raise NotFound("device", device_id)
    return found
