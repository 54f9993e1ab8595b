"""What a run has come to: what became of each link, and the steps that would take back what was done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from fleet.model.command import CommandState
from fleet.model.retune import (
    ItemState,
    RetuneItem,
    RetuneLeftOut,
    RetuneStep,
    RetuneWrite,
    StepKind,
    StepState,
)

_MAY_STAND = frozenset({CommandState.CONFIRMED, CommandState.UNKNOWN})


def state_of(writes: Iterable[RetuneWrite]) -> StepState:
    """What writes that have ended make of their step: what is unknown counts for more than what failed."""
    states = {write.state for write in writes}
    if states <= {CommandState.CONFIRMED}:
        return StepState.DONE
    return StepState.UNKNOWN if CommandState.UNKNOWN in states else StepState.FAILED


def items_of(
    steps: Iterable[RetuneStep],
    left_out: Iterable[RetuneLeftOut],
    stands_hz: Callable[[Iterable[str]], tuple[int, ...]],
) -> tuple[RetuneItem, ...]:
    """What became of each link; ``stands_hz`` tells where ends stand now, by their addresses."""
    by_link: dict[str, list[RetuneStep]] = {}
    for step in steps:
        by_link.setdefault(step.link_id, []).append(step)
    moved = (_item(link_id, its, stands_hz) for link_id, its in by_link.items())
    stayed = (
        RetuneItem(each.link_id, each.channels, (), each.to_hz, ItemState.LEFT_OUT, (), each.reason)
        for each in left_out
        if each.link_id not in by_link
    )
    return (*moved, *stayed)


def _item(link_id: str, steps: list[RetuneStep], stands_hz: Callable[[Iterable[str]], tuple[int, ...]]) -> RetuneItem:
    ahead = [step for step in steps if step.kind is not StepKind.BACK]
    wanted_hz = [step.to_hz for step in ahead if step.to_hz is not None][-1]
    state, reason = _state(steps)
    addresses = dict.fromkeys(write.address for step in steps for write in step.writes)
    return RetuneItem(link_id, steps[0].channels, ahead[0].from_hz, wanted_hz, state, stands_hz(addresses), reason)


def _state(steps: list[RetuneStep]) -> tuple[ItemState, str]:
    """The state of a link by its steps: of those back, if anything was taken back, else of those ahead."""
    back = [step for step in steps if step.kind is StepKind.BACK]
    ahead = [step for step in steps if step.kind is not StepKind.BACK]
    looked_at = back or ahead
    for state, item in (
        (StepState.RUNNING, ItemState.MOVING),
        (StepState.UNKNOWN, ItemState.UNKNOWN),
        (StepState.FAILED, ItemState.FAILED),
    ):
        for step in looked_at:
            if step.state is state:
                return item, step.reason
    done = [step for step in looked_at if step.state is StepState.DONE]
    if len(done) == len(looked_at):
        return (ItemState.BACK if back else ItemState.DONE), ""
    if back:
        return ItemState.MOVING, ""
    return (ItemState.ASIDE, "it stands aside, on its way") if done else (ItemState.NOT_BEGUN, "")


def back_steps(steps: tuple[RetuneStep, ...]) -> tuple[RetuneStep, ...]:
    """What takes back all that was confirmed and wasn't taken back yet, the last step first.

    The same places are passed as on the way, in reverse, so that nobody meets anybody whom they didn't meet then.
    """
    back = [step for step in steps if step.kind is StepKind.BACK]
    taken_back = {write.takes_back for step in back for write in step.writes if write.state is CommandState.CONFIRMED}
    found: list[RetuneStep] = []
    for step in reversed([step for step in steps if step.kind is not StepKind.BACK]):
        writes = tuple(_back_writes(step, taken_back))
        if writes:
            number = len(steps) + len(found) + 1
            found.append(_back(step, number, writes))
    return tuple(found)


def _back(step: RetuneStep, number: int, writes: tuple[RetuneWrite, ...]) -> RetuneStep:
    """The step as it is taken back: a wake ends off the air, and a sleep on the frequency where it was begun."""
    was_hz = None if step.kind is StepKind.WAKE else min(step.from_hz, default=None)
    from_hz = () if step.to_hz is None else (step.to_hz,)
    plain = replace(step, number=number, kind=StepKind.BACK, from_hz=from_hz, to_hz=was_hz, writes=writes)
    return replace(plain, state=StepState.PLANNED, reason="", heard=None)


def _back_writes(step: RetuneStep, taken_back: set[str]) -> Iterator[RetuneWrite]:
    """The packs go first on the way back, too; only what took a pack off the air, or put it on, is turned round."""
    turned = step.kind in {StepKind.SLEEP, StepKind.WAKE}
    for write in reversed(step.writes) if turned else step.writes:
        if write.command_id and write.state in _MAY_STAND and write.command_id not in taken_back:
            yield RetuneWrite(write.address, write.before, write.changes, takes_back=write.command_id)
