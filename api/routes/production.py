"""The production: parts, channels and zones, in the order the people think of them."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from api.declared import answers, one
from api.desk import DeskHere
from api.paging import json_response
from api.revision import entity_tag
from api.roles import Role, needs

router = APIRouter(prefix="/api/v1/production", tags=["production"])


@router.get("", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(one("Production")))
async def show_production(desk: DeskHere) -> Response:
    """The production as it stands; the ETag is the document's revision."""
    picture = desk.console.snapshot()
    return json_response(picture.production, 200, {"ETag": entity_tag(str(picture.production_revision))})
