"""What a search found, put into the plan document that asked for it: locks stay, channels keep their frequencies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fleet.model.job import BestSoFar
from fleet.model.plan import Plan, PlanCarrier, PlanSpare, PlanVerdict


def with_found(plan: Plan, best: BestSoFar, took: tuple[int, float]) -> Plan:
    """The plan with the best of a search in it; ``took`` is the seed, and how many seconds it searched."""
    seed, seconds = took
    return replace(
        plan,
        carriers=dealt(plan.carriers, best.carriers),
        spares=tuple(_ranked(plan.spares, best.spares)),
        complete=len(best.carriers) == best.asked,
        worst_margin_hz=best.worst_margin_hz,
        seed=seed,
        steps=best.steps,
        seconds=seconds,
        relaxations=best.relaxations,
    )


def with_gains(plan: Plan, best: BestSoFar) -> Plan:
    """The plan as it stands with what relaxations would gain, where a search that found as many carriers tells it."""
    if not best.relaxations or len(plan.carriers) != len(best.carriers):
        return plan
    return replace(plan, relaxations=best.relaxations)


def dealt(before: Sequence[PlanCarrier], found: Sequence[PlanCarrier]) -> tuple[PlanCarrier, ...]:
    """The carriers found, by frequency, locked and given to channels as before.

    A carrier that stands where one of its group stood keeps that one's lock and channel; the other channels of a group
    get its other carriers, the lowest first. Channels beyond the carriers are left without one.
    """
    stood = {(each.group, each.frequency_hz): each for each in before}
    ordered = sorted(found, key=lambda each: (each.frequency_hz, each.group))
    stay = {(each.group, each.frequency_hz) for each in ordered} & stood.keys()
    free: dict[str, list[str]] = {}
    for each in before:
        if each.channel is not None and (each.group, each.frequency_hz) not in stay:
            free.setdefault(each.group, []).append(each.channel)
    made = []
    for each in ordered:
        old = stood.get((each.group, each.frequency_hz))
        waiting = free.get(each.group, [])
        if old is not None:
            made.append(replace(each, locked=old.locked, channel=old.channel))
        else:
            made.append(replace(each, channel=waiting.pop(0) if waiting else None))
    return tuple(made)


def _ranked(before: Sequence[PlanSpare], found: Sequence[PlanCarrier]) -> Iterator[PlanSpare]:
    """The spares found, in their order; one that was there already keeps when it was last heard quiet."""
    looked = {(each.group, each.frequency_hz): each for each in before}
    for rank, each in enumerate(found, start=1):
        old = looked.get((each.group, each.frequency_hz))
        fresh = PlanSpare(each.group, each.zone, each.frequency_hz, rank)
        yield fresh if old is None else replace(old, rank=rank)


def stands_as_well(plan: Plan, verdict: PlanVerdict, best: BestSoFar) -> bool:
    """Whether a plan keeps every rule and is no worse than what was found: by carriers, spares, then the margin."""
    if verdict.faults:
        return False
    standing = _rank(len(plan.carriers), len(plan.spares), verdict.worst_margin_hz)
    return standing >= _rank(len(best.carriers), len(best.spares), best.worst_margin_hz)


def _rank(carriers: int, spares: int, margin_hz: int | None) -> tuple[int, int, float]:
    """Where nothing is near anything, no margin is better."""
    return carriers, spares, float("inf") if margin_hz is None else margin_hz
