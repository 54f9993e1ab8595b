"""What may be asked about a change before anybody makes it: strict models of a question about a kept plan."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import ConfigDict, Field, StringConstraints
from pydantic.config import JsonDict

from api.requests import Name, StrictModel
from fleet.planning.what_if import site
from fleet.planning.what_if.changes import CHANGES_MAXIMUM
from fleet.planning.what_if.question import PACKS_MAXIMUM

NAMES_MAXIMUM = 1_000
STEPS_MAXIMUM = 16
WORDS_LENGTH_MAXIMUM = 200

FrequencyHz = Annotated[int, Field(ge=1, le=site.FREQUENCY_MAXIMUM_HZ)]
PowerDbm = Annotated[float, Field(ge=site.POWER_DBM[0], le=site.POWER_DBM[1])]
LevelDbm = Annotated[float, Field(ge=site.LEVEL_DBM[0], le=site.LEVEL_DBM[1])]
AlongM = Annotated[float, Field(ge=site.PLACE_M[0], le=site.PLACE_M[1])]
PlaceM = Annotated[list[AlongM], Field(min_length=2, max_length=2, description="x and y in metres")]
Reference = Literal["erp", "eirp"]
Words = Annotated[str, StringConstraints(max_length=WORDS_LENGTH_MAXIMUM)]


class WhatIfCarrier(StrictModel):
    """A carrier of the plan."""

    group: Name
    frequency_hz: FrequencyHz


class WhatIfChosen(StrictModel):
    """The carriers of any of these carriers, groups or zones, all of them if none is named; ``but`` are left out."""

    carriers: list[WhatIfCarrier] = Field(default_factory=list, max_length=NAMES_MAXIMUM)
    groups: list[Name] = Field(default_factory=list, max_length=NAMES_MAXIMUM)
    zones: list[Name] = Field(default_factory=list, max_length=NAMES_MAXIMUM)
    but: list[WhatIfCarrier] = Field(default_factory=list, max_length=NAMES_MAXIMUM)


class WhatIfPacks(StrictModel):
    """What the chosen carriers radiate with and where; where several choose a carrier, the last of them counts.

    Either ``position_m`` or ``distance_m``, which is that to the antennas of its own zone. ``body_loss_db`` is your
    assumption. ``steps_dbm`` are the powers that can be set, by the same reference.
    """

    chosen: WhatIfChosen = WhatIfChosen()
    power_dbm: PowerDbm
    reference: Reference = "erp"
    position_m: PlaceM | None = None
    distance_m: Annotated[float, Field(ge=site.DISTANCE_M[0], le=site.DISTANCE_M[1])] | None = None
    body_loss_db: Annotated[float, Field(ge=site.BODY_LOSS_DB[0], le=site.BODY_LOSS_DB[1])] = 0.0
    steps_dbm: list[PowerDbm] = Field(default_factory=list, max_length=STEPS_MAXIMUM)
    bandwidth_hz: Annotated[int, Field(ge=1, le=site.BANDWIDTH_MAXIMUM_HZ)] = site.USUAL_BANDWIDTH_HZ


class WhatIfAntenna(StrictModel):
    """A receive antenna and the receivers behind it: gain before their input, all noise in 200 kHz, their IIP3."""

    name: Name
    zone: Name
    position_m: PlaceM
    gain_db: Annotated[float, Field(ge=site.GAIN_DB[0], le=site.GAIN_DB[1])] = 0.0
    intercept_dbm: Annotated[float, Field(ge=site.INTERCEPT_DBM[0], le=site.INTERCEPT_DBM[1])] = -7.5
    noise_dbm: Annotated[float, Field(ge=site.NOISE_DBM[0], le=site.NOISE_DBM[1])] = -105.0


class WhatIfBlock(StrictModel):
    """Occupied spectrum, such as a broadcaster's; ``level_dbm`` is all of its power as every antenna gets it."""

    start_hz: FrequencyHz
    stop_hz: FrequencyHz
    level_dbm: LevelDbm
    words: Words = ""


class PowerTo(StrictModel):
    """The chosen ones are set to a power."""

    kind: Literal["power to"]
    chosen: WhatIfChosen = WhatIfChosen()
    power_dbm: PowerDbm
    reference: Reference = "erp"


class PowerBy(StrictModel):
    """The chosen ones are turned up, or down by less than zero."""

    kind: Literal["power by"]
    chosen: WhatIfChosen = WhatIfChosen()
    change_db: Annotated[float, Field(ge=-100.0, le=100.0)]


class LowestStep(StrictModel):
    """The chosen ones go down to the lowest power that each can be set to."""

    kind: Literal["lowest step"]
    chosen: WhatIfChosen = WhatIfChosen()


class AntennaMoved(StrictModel):
    """An antenna stands elsewhere."""

    kind: Literal["antenna moved"]
    name: Name
    position_m: PlaceM


class BroadcasterOn(StrictModel):
    """A block is occupied that wasn't before."""

    kind: Literal["broadcaster on"]
    block: WhatIfBlock


WhatIfChange = Annotated[PowerTo | PowerBy | LowestStep | AntennaMoved | BroadcasterOn, Field(discriminator="kind")]
_EXAMPLE: JsonDict = {
    "packs": [{"power_dbm": 10.0, "distance_m": 20.0, "steps_dbm": [3.0, 10.0, 17.0]}],
    "antennas": [{"name": "House left", "zone": "House", "position_m": [0.0, 0.0]}],
    "changes": [{"kind": "lowest step", "chosen": {"zones": ["House"]}}],
}


class WhatIfRequest(StrictModel):
    """Asks what changes would do to a plan's carriers; these, their zones and the isolation between come from it."""

    model_config = ConfigDict(json_schema_extra={"examples": [_EXAMPLE]})

    packs: Annotated[list[WhatIfPacks], Field(min_length=1, max_length=PACKS_MAXIMUM)]
    antennas: Annotated[list[WhatIfAntenna], Field(min_length=1, max_length=site.ANTENNAS_MAXIMUM)]
    changes: list[WhatIfChange] = Field(default_factory=list, max_length=CHANGES_MAXIMUM)
    blocks: list[WhatIfBlock] = Field(default_factory=list, max_length=site.BLOCKS_MAXIMUM)


WHAT_IF_REQUESTS: tuple[type[StrictModel], ...] = (
    WhatIfCarrier,
    WhatIfChosen,
    WhatIfPacks,
    WhatIfAntenna,
    WhatIfBlock,
    PowerTo,
    PowerBy,
    LowestStep,
    AntennaMoved,
    BroadcasterOn,
    WhatIfRequest,
)
