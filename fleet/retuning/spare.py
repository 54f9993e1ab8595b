"""The spare that a channel goes to in the middle of a show: legal beside everybody on the air, and quiet lately."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from fleet.errors import InvalidRequest, NotFound, ValueRefused
from fleet.model.plan import Plan, PlanSpare
from fleet.model.retune import RetuneWanted
from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.plan_document import request_of
from fleet.planning.coordination.request import Request
from fleet.planning.retuning.rig import Rig
from fleet.planning.spares import PRACTICE, Look, RankedSpare, Spare, Standing, ranked

SPARES_TRIED_MAXIMUM = 100


@dataclass(frozen=True, slots=True)
class Chosen:
    """A plan with one channel on a spare, and until when the last look at that spare counts."""

    plan: Plan
    holds_until_utc_us: int


def with_spare(plan: Plan, wanted: RetuneWanted, rig: Rig, floor_dbm: float | None, now_us: int) -> Chosen:
    """The plan with the channel on a verified spare of its group.

    ``floor_dbm`` is the noise floor that its receiver measures, against which the last look at a spare counts as quiet.
    Raises NotFound for a channel that the plan doesn't name, InvalidRequest where no spare is verified, and
    ValueRefused for a frequency that isn't one.
    """
    moving = next((carrier for carrier in plan.carriers if carrier.channel == wanted.channel), None)
    if moving is None:
        raise NotFound("channel in the plan", wanted.channel)
    request = request_of(plan, f"plan/{wanted.plan}")
    groups = {group.name: number for number, group in enumerate(request.group)}
    others = tuple(_on_air(plan, wanted.channel, request, rig))
    looked_at = [each for each in plan.spares if each.group == moving.group and _is_recent(each, now_us)]
    looked_at = sorted(looked_at, key=lambda spare: spare.rank)[:SPARES_TRIED_MAXIMUM]
    spares = [_spare(each, groups, request, floor_dbm) for each in looked_at]
    verified = [each for each in ranked(request, others, spares, now_us) if each.standing is Standing.VERIFIED]
    frequency_hz = _chosen(wanted, verified, request.raster_hz)
    carriers = [replace(one, frequency_hz=frequency_hz) if one is moving else one for one in plan.carriers]
    looks_us = [each.quiet_at_utc_us or 0 for each in looked_at if each.frequency_hz == frequency_hz]
    return Chosen(replace(plan, carriers=tuple(carriers)), max(looks_us) + PRACTICE.look_holds_us)


def _is_recent(spare: PlanSpare, now_us: int) -> bool:
    """Whether the last look at it counts; no other is held against the whole plan in the middle of a show."""
    return spare.quiet_at_utc_us is not None and now_us - spare.quiet_at_utc_us <= PRACTICE.look_holds_us


def _on_air(plan: Plan, channel: str, request: Request, rig: Rig) -> Iterator[Carrier]:
    """The others where they stand now, as far as that is on the raster; those of no channel where the plan has them."""
    groups = {group.name: number for number, group in enumerate(request.group)}
    found: dict[Carrier, None] = {}
    for each in plan.carriers:
        if each.channel != channel:
            carrier = rig.carrier_of.get(each.channel or "")
            for hz in {each.frequency_hz} if carrier is None else rig.stands_hz(carrier):
                if hz % request.raster_hz == 0:
                    found[Carrier(groups[each.group], hz // request.raster_hz)] = None
    return iter(found)


def _spare(spare: PlanSpare, groups: dict[str, int], request: Request, floor_dbm: float | None) -> Spare:
    carrier = Carrier(groups[spare.group], spare.frequency_hz // request.raster_hz)
    if spare.quiet_at_utc_us is None or spare.quiet_dbm is None or floor_dbm is None:
        return Spare(carrier)
    return Spare(carrier, Look(spare.quiet_at_utc_us, spare.quiet_dbm, floor_dbm))


def _chosen(wanted: RetuneWanted, verified: list[RankedSpare], raster_hz: int) -> int:
    found_hz = [each.spare.carrier.point * raster_hz for each in verified]
    if not found_hz:
        reason = "found quiet within ten minutes and legal beside everybody on the air; look at the spares again"
        raise InvalidRequest(f"no spare of {wanted.plan} for {wanted.channel} was {reason}")
    if wanted.frequency_hz is None:
        return found_hz[0]
    if wanted.frequency_hz not in found_hz:
        raise ValueRefused(wanted.channel, "frequency_hz", "is no verified spare", {"enum": found_hz})
    return wanted.frequency_hz
