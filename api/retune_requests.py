"""What may be asked about putting a plan on the air: strict models."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field, StringConstraints

from api.requests import AddressText, Name, StrictModel
from fleet.ids import ID_PATTERN

CHANNELS_MAXIMUM = 1_000
FREQUENCY_MAXIMUM_HZ = 10_000_000_000
PlanName = Annotated[str, StringConstraints(pattern=f"^{ID_PATTERN}$")]
Channels = Annotated[list[AddressText], Field(min_length=1, max_length=CHANNELS_MAXIMUM)]


class RetunePreviewRequest(StrictModel):
    """Asks what putting a plan on the air would do.

    ``may_sleep`` lets packs sleep, where no frequency is free for anybody to step aside; ``channels`` narrows it to
    some channels of the plan, all of them when left out.
    """

    may_sleep: bool = False
    channels: Channels | None = None


class RetuneApplyRequest(RetunePreviewRequest):
    """Puts a plan on the air, as it was previewed.

    ``plan_revision`` is the one of the preview; ``only_what_can`` goes ahead although some channels must be left out.
    """

    plan_revision: Annotated[int, Field(ge=1)]
    only_what_can: bool = False


class GuidedRetuneRequest(StrictModel):
    """Begins the guided change of one channel to a verified spare of its plan, to the best one when none is named."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"plan": "tonight", "channel": "house-1/channel/1"}]})

    plan: PlanName
    channel: AddressText
    frequency_hz: Annotated[int, Field(ge=1, le=FREQUENCY_MAXIMUM_HZ)] | None = None


class RetuneAnswerRequest(StrictModel):
    """Answers what a run asks: the code of its prompt, and one of the answers that the prompt names."""

    prompt: Name
    answer: Name


RETUNE_REQUESTS: tuple[type[StrictModel], ...] = (
    RetunePreviewRequest,
    RetuneApplyRequest,
    GuidedRetuneRequest,
    RetuneAnswerRequest,
)
