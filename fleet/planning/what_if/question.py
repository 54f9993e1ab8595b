"""A question about a kept plan: what its carriers radiate with and where, who hears them, and which changes to try."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from fleet.errors import InvalidDocument
from fleet.model.forecast import Forecast
from fleet.model.plan import Plan, PlanCarrier
from fleet.planning.what_if.changes import Change, changed
from fleet.planning.what_if.forecast import forecast
from fleet.planning.what_if.known_carriers import Chosen, KnownCarriers
from fleet.planning.what_if.site import (
    FILE,
    USUAL_BANDWIDTH_HZ,
    Antenna,
    Between,
    Block,
    Place,
    Reference,
    Site,
    Transmitter,
    checked,
)

PACKS_MAXIMUM = 1_000
_MICROPHONE = "microphone"


class Packs(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What the chosen carriers radiate with, and where; where several choose a carrier, the last of them counts."""

    power_dbm: float
    chosen: Chosen = Chosen()
    reference: Reference = "erp"
    position_m: Place | None = None
    distance_m: float | None = None
    body_loss_db: float = 0.0
    steps_dbm: tuple[float, ...] = ()
    bandwidth_hz: int = USUAL_BANDWIDTH_HZ


class Question(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The whole question. Carriers, their zones and the isolation between these come from the plan."""

    packs: tuple[Packs, ...]
    antennas: tuple[Antenna, ...]
    changes: tuple[Change, ...] = ()
    blocks: tuple[Block, ...] = ()


def question_of(values: Mapping[str, Any]) -> Question:
    """The question in plain JSON values. Raises InvalidDocument."""
    try:
        return msgspec.convert(values, Question)
    except msgspec.ValidationError as error:
        raise InvalidDocument(FILE, "question", "what can be asked", str(error)) from error


def site_of(plan: Plan, question: Question) -> Site:
    """The plan's carriers as they are said to be on the air, with all that hears them.

    Raises InvalidDocument with a key for what can't be, and where nothing is said of a carrier.
    """
    if len(question.packs) > PACKS_MAXIMUM:
        raise InvalidDocument(FILE, "packs", f"at most {PACKS_MAXIMUM}", len(question.packs))
    worn = _packs_by_place(plan, question)
    received = {group["name"]: group.get("kind", _MICROPHONE) == _MICROPHONE for group in plan.request.get("group", ())}
    transmitters = tuple(
        _transmitter(each, worn.get(place), received=received[each.group]) for place, each in enumerate(plan.carriers)
    )
    isolations = tuple(
        Between((each["zones"][0], each["zones"][1]), each.get("isolation_db"))
        for each in plan.request.get("isolation", ())
    )
    return checked(Site(transmitters, question.antennas, question.blocks, isolations))


def require_answerable(plan: Plan, question: Question) -> None:
    """Raises InvalidDocument where a question can't be answered; this is quick, unlike the answer."""
    checked(changed(site_of(plan, question), question.changes))


def answer(plan: Plan, question: Question) -> Forecast:
    """What the changes would do to the plan's carriers. Raises InvalidDocument."""
    return forecast(site_of(plan, question), question.changes)


def _packs_by_place(plan: Plan, question: Question) -> dict[int, Packs]:
    known, found = KnownCarriers(plan.carriers), dict[int, Packs]()
    for index, packs in enumerate(question.packs):
        if (packs.position_m is None) == (packs.distance_m is None):
            raise InvalidDocument(FILE, f"packs[{index}].position_m", "either position_m or distance_m")
        found.update(dict.fromkeys(known.named(packs.chosen, f"packs[{index}].chosen"), packs))
    return found


def _transmitter(carrier: PlanCarrier, packs: Packs | None, *, received: bool) -> Transmitter:
    if packs is None:
        found = f"nothing for {carrier.group} at {carrier.frequency_hz} Hz"
        raise InvalidDocument(FILE, "packs", "a power and a place for every carrier", found)
    return Transmitter(
        frequency_hz=carrier.frequency_hz,
        group=carrier.group,
        zone=carrier.zone,
        power_dbm=packs.power_dbm,
        reference=packs.reference,
        position_m=packs.position_m,
        distance_m=packs.distance_m,
        body_loss_db=packs.body_loss_db,
        steps_dbm=packs.steps_dbm,
        bandwidth_hz=packs.bandwidth_hz,
        received=received,
    )
