"""The rasters of broadcasters by region: facts for labelling, never permission."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from api.declared import answers, many
from api.paging import PagingHere, page
from api.roles import Role, needs
from fleet.planning.spectrum.regions import regions

router = APIRouter(prefix="/api/v1/regions", tags=["surveys"])


@router.get("", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("Region")))
async def list_regions(asked: PagingHere) -> Response:
    """Every region with its rasters, each with its source, its date, and whether nobody has verified it."""
    return page(regions(), lambda region: region.name, asked)
