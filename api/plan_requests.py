"""What may be asked about frequency plans: strict models. A plan itself is read by the rules of its document."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field

from api.requests import StrictModel

SECONDS_MAXIMUM = 3_600.0
SEED_MAXIMUM = 2**53 - 1
STEPS_MAXIMUM = 1_000_000_000


class FindRequest(StrictModel):
    """Searches for a plan: by what luck, for how long at the most, and where given for how many steps at the most.

    The same seed and as many steps find the same plan.
    """

    model_config = ConfigDict(json_schema_extra={"examples": [{"seed": 1, "seconds": 10.0}]})

    seed: Annotated[int, Field(ge=0, le=SEED_MAXIMUM)] = 1
    seconds: Annotated[float, Field(gt=0.0, le=SECONDS_MAXIMUM)] = 10.0
    steps: Annotated[int, Field(ge=0, le=STEPS_MAXIMUM, description="0: by the time alone")] = 0


class SpareLookRequest(StrictModel):
    """Holds a plan's spares against kept scans, each spare against the last of them that covers it."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"surveys": ["house-left-1"]}]})

    surveys: Annotated[list[Annotated[str, Field(min_length=1, max_length=64)]], Field(min_length=1, max_length=20)]


PLAN_REQUESTS: tuple[type[StrictModel], ...] = (FindRequest, SpareLookRequest)
