"""A request for an act, checked in full before anything of it is believed or sent; secrets are set apart."""

from __future__ import annotations

from dataclasses import dataclass

from fleet.errors import InvalidRequest, NotFound, ValueRefused
from fleet.model.capability import ActCapability, problem_with
from fleet.model.fields import Value
from fleet.model.inputs import RequestAct
from fleet.state.permits import Permits
from fleet.state.requests import allowed_by
from fleet.topology import Topology


@dataclass(frozen=True, slots=True)
class CheckedAct:
    """An act that may be asked for: its capability, and its arguments, the secret ones apart."""

    capability: ActCapability
    plain: dict[str, Value]
    secret: dict[str, Value]


def check_act(act: RequestAct, topology: Topology, permits: Permits, *, read_only: bool) -> CheckedAct:
    """Refuse an act that can't be done as asked; no error repeats an argument.

    Raises NotFound, InvalidRequest or ValueRefused; nothing was changed then.
    """
    if act.target not in topology.device_of:
        raise NotFound("thing", act.target)
    if read_only:
        raise InvalidRequest(f"{act.target}: the device allows reading only")
    offered = topology.acts.get(act.target, {})
    capability = offered.get(act.act)
    if capability is None:
        raise ValueRefused(act.target, act.act, "is not an act of this thing", {"acts": sorted(offered)})
    _check_arguments(act, capability)
    problem = permits.problem(topology.device_of[act.target], guarded=capability.guarded)
    if problem is not None:
        raise InvalidRequest(problem)
    secret = {argument.name for argument in capability.arguments if argument.secret}
    return CheckedAct(
        capability,
        {name: value for name, value in act.arguments.items() if name not in secret},
        {name: value for name, value in act.arguments.items() if name in secret},
    )


def _check_arguments(act: RequestAct, capability: ActCapability) -> None:
    known = {argument.name: argument for argument in capability.arguments}
    for name in act.arguments:
        if name not in known:
            raise ValueRefused(act.target, name, f"is no argument of {act.act}", {"arguments": sorted(known)})
    for argument in capability.arguments:
        if argument.name not in act.arguments:
            if argument.required:
                raise ValueRefused(act.target, argument.name, f"is needed by {act.act}", allowed_by(argument.schema))
            continue
        problem = problem_with(argument.schema, act.arguments[argument.name])
        if problem is not None:
            raise ValueRefused(act.target, argument.name, problem, allowed_by(argument.schema))
