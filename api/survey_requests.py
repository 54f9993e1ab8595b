"""What may be asked about surveys: strict models."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field

from api.requests import StrictModel
from fleet.ids import COMMAND_ID_PATTERN

SWEEPS_MAXIMUM = 100
PLACE_LENGTH_MAXIMUM = 128
_CommandId = Annotated[str, Field(pattern=f"^{COMMAND_ID_PATTERN}$")]


class KeepScanRequest(StrictModel):
    """Keeps what a finished act `scan` found, and where it was made; earlier ones of the same are further sweeps."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"command_id": "c1", "place": "House left"}]})

    command_id: _CommandId
    place: Annotated[str, Field(min_length=1, max_length=PLACE_LENGTH_MAXIMUM)]
    earlier_command_ids: Annotated[list[_CommandId], Field(default_factory=list, max_length=SWEEPS_MAXIMUM)]


SURVEY_REQUESTS: tuple[type[StrictModel], ...] = (KeepScanRequest,)
