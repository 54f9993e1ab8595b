"""What may be asked of the API: strict models that refuse unknown members, coercion and null."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from api.live_messages import RATE_HZ_MAXIMUM
from fleet.ids import COMMAND_ID_PATTERN, ID_PATTERN
from fleet.model.rule import DELAY_MAXIMUM_S

TOKEN_LENGTH_MAXIMUM = 128
REASON_LENGTH_MAXIMUM = 200
NAMES_MAXIMUM = 64
ROWS_MAXIMUM = 1_000
ALARMS_AT_ONCE_MAXIMUM = 500
ADDRESS_LENGTH_MAXIMUM = 400
ARGUMENTS_MAXIMUM = 32
ARGUMENT_LENGTH_MAXIMUM = 4_096
_PRINTABLE = r"^[^\p{C}]*$"

PlaceName = Literal["device", "carrier", "branch", "channel", "pack", "output", "input", "bay"]
Name = Annotated[str, StringConstraints(min_length=1, max_length=64)]
AddressText = Annotated[str, StringConstraints(min_length=1, max_length=ADDRESS_LENGTH_MAXIMUM)]
ArgumentText = Annotated[str, StringConstraints(max_length=ARGUMENT_LENGTH_MAXIMUM)]
AlarmId = Annotated[str, StringConstraints(min_length=1, max_length=ADDRESS_LENGTH_MAXIMUM)]


class StrictModel(BaseModel):
    """A request: nothing is coerced, unknown members and non-finite numbers are refused."""

    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False, frozen=True)


def _without_defaults(schema: dict[str, Any]) -> None:
    """What a patch leaves out stays as it is, so the defaults that pydantic needs say nothing to anybody."""
    for member in schema["properties"].values():
        member.pop("default", None)


class LaunchRequest(StrictModel):
    """Exchanges the token of a launch link for a session."""

    token: Annotated[str, StringConstraints(min_length=1, max_length=TOKEN_LENGTH_MAXIMUM)]


class AcknowledgeRequest(StrictModel):
    """Acknowledges alarms by their ids; either all of them exist or nothing is done."""

    alarm_ids: Annotated[list[AlarmId], Field(min_length=1, max_length=ALARMS_AT_ONCE_MAXIMUM)]


class CloseRequest(StrictModel):
    """Closes a command whose outcome nothing can tell; the reason goes into the journal."""

    reason: Annotated[str, StringConstraints(min_length=1, max_length=REASON_LENGTH_MAXIMUM, pattern=_PRINTABLE)]


class ActRequest(StrictModel):
    """Asks for an act, with the arguments that the device's description names. Secret ones are kept nowhere."""

    arguments: Annotated[dict[Name, bool | int | float | ArgumentText], Field(max_length=ARGUMENTS_MAXIMUM)] = {}


class UnlockRequest(StrictModel):
    """Unlocks what is guarded at a device; the reason goes into the journal."""

    reason: Annotated[str, StringConstraints(min_length=1, max_length=REASON_LENGTH_MAXIMUM, pattern=_PRINTABLE)]
    minutes: Annotated[int, Field(ge=1, le=10)] = 10


class RulePatch(StrictModel):
    """Changes single numbers of one rule. Absent members stay as they are."""

    model_config = ConfigDict(json_schema_extra=_without_defaults)

    limit: float = 0.0
    deadband: Annotated[float, Field(ge=0.0)] = 0.0
    on_delay_s: Annotated[float, Field(ge=0.0, le=DELAY_MAXIMUM_S)] = 0.0
    off_delay_s: Annotated[float, Field(ge=0.0, le=DELAY_MAXIMUM_S)] = 0.0
    priority: Annotated[int, Field(ge=1, le=3)] = 3
    priority_on_air: Annotated[int, Field(ge=1, le=3)] = 3
    enabled: bool = True


class ShowStepRequest(StrictModel):
    """Moves the show clock; ``cue_id`` names where a jump goes."""

    step: Literal["advance", "back", "jump", "reset"]
    cue_id: Annotated[str, StringConstraints(pattern=f"^{ID_PATTERN}$")] | None = None


class ShowTriggerRequest(ShowStepRequest):
    """Moves the show clock from another system, under an id that makes a repeat harmless."""

    trigger_id: Annotated[str, StringConstraints(pattern=f"^{COMMAND_ID_PATTERN}$")]


class SubscribeRequest(StrictModel):
    """The first and only thing a client says on the live WebSocket.

    ``since`` asks for the events after that sequence number, beside the snapshot. ``columns`` and ``rows`` narrow the
    readings by table; without them everything is sent.
    """

    type: Literal["subscribe"]
    rate_hz: Annotated[int, Field(ge=1, le=RATE_HZ_MAXIMUM)] = RATE_HZ_MAXIMUM
    since: Annotated[int, Field(ge=0)] | None = None
    form: Literal["binary", "json"] = "binary"
    columns: dict[PlaceName, Annotated[list[Name], Field(max_length=NAMES_MAXIMUM)]] | None = None
    rows: dict[PlaceName, Annotated[list[AddressText], Field(max_length=ROWS_MAXIMUM)]] | None = None


REQUESTS: tuple[type[StrictModel], ...] = (
    LaunchRequest,
    AcknowledgeRequest,
    CloseRequest,
    ActRequest,
    UnlockRequest,
    RulePatch,
    ShowStepRequest,
    ShowTriggerRequest,
    SubscribeRequest,
)
