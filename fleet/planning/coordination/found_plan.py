"""What a search found, put into the plan document that asked for it: locks stay, channels keep their frequencies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fleet.model.job import BestSoFar
from fleet.model.plan import Plan, PlanCarrier, PlanSpare, PlanVerdict, Relaxation


def with_found(
    plan: Plan,
    best: BestSoFar,
    took: tuple[int, float],
    spares: Sequence[PlanSpare] = (),
    relaxations: Sequence[Relaxation] = (),
) -> Plan:
    """The plan with the best of a search in it; ``took`` is the seed, and how many seconds it searched."""
    seed, seconds = took
    return replace(
        plan,
        carriers=dealt(plan.carriers, best.carriers),
        spares=tuple(spares),
        complete=len(best.carriers) == best.asked,
        worst_margin_hz=best.worst_margin_hz,
        seed=seed,
        steps=best.steps,
        seconds=seconds,
        relaxations=tuple(relaxations),
    )


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


def stands_as_well(plan: Plan, verdict: PlanVerdict, best: BestSoFar) -> bool:
    """Whether a plan keeps every rule and is no worse than what was found: by its carriers, then by its margin."""
    if verdict.faults:
        return False
    return _rank(len(plan.carriers), verdict.worst_margin_hz) >= _rank(len(best.carriers), best.worst_margin_hz)


def _rank(carriers: int, margin_hz: int | None) -> tuple[int, float]:
    """Where nothing is near anything, no margin is better."""
    return carriers, float("inf") if margin_hz is None else margin_hz
