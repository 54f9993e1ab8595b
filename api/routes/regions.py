"""What bands there are: the rasters of broadcasters, facts for labelling, and what the gear at hand is tuned to."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter
from starlette.responses import Response

from api.declared import answers, many
from api.desk import Desk, DeskHere
from api.paging import PagingHere, page, page_response
from api.roles import Role, needs
from fleet.errors import NotFound
from fleet.model.fields import Value
from fleet.planning.spectrum.regions import regions
from fleet.planning.spectrum.tuning import gear_tunings

router = APIRouter(prefix="/api/v1", tags=["surveys"])


@router.get("/regions", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("Region")))
async def list_regions(asked: PagingHere) -> Response:
    """Every region with its rasters, each with its source, its date, and whether nobody has verified it."""
    return page(regions(), lambda region: region.name, asked)


@router.get("/tunings", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("GearTuning")))
async def list_tunings(desk: DeskHere) -> Response:
    """What the carriers of the devices can be tuned to as they are set now, and what they need by common practice.

    Both stand in the shapes of a plan's request; those that are alike stand together.
    """
    described = [each.description for each in desk.console.devices() if each.description is not None]
    return page_response(gear_tunings(described, lambda address: _settings(desk, address)), None)


def _settings(desk: Desk, address: str) -> Mapping[str, Value]:
    """What an address is set to, as it reports; nothing where it has no settings."""
    try:
        return desk.console.settings(address).reported
    except NotFound:
        return {}
