"""A request to change settings, checked in full before anything of it is believed or sent."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fleet.errors import InvalidRequest, NotFound, RevisionMissing, RevisionStale, ValueRefused
from fleet.model.capability import Capability, ValueSchema, in_force, problem_with
from fleet.model.fields import Value
from fleet.model.inputs import RequestWrite
from fleet.state.permits import Permits
from fleet.state.twin import Twin
from fleet.topology import Topology


def check_write(
    act: RequestWrite, topology: Topology, twin: Twin, permits: Permits, *, read_only: bool
) -> tuple[Capability, ...]:
    """Refuse a write that can't be done as asked; the capabilities in force of what it changes.

    Raises NotFound, InvalidRequest, RevisionMissing, RevisionStale or ValueRefused; nothing was changed then.
    """
    if act.target not in topology.device_of:
        raise NotFound("thing with settings", act.target)
    if not act.changes:
        raise InvalidRequest(f"{act.target}: the write changes nothing; name at least one setting")
    if read_only:
        raise InvalidRequest(f"{act.target}: the device allows reading only")
    _check_revision(act, twin)
    found = tuple(_checked(act.target, name, value, topology, twin) for name, value in act.changes.items())
    guarded = is_guarded(act.target, act.changes, topology)
    if guarded and len(found) > 1:
        raise InvalidRequest(f"{act.target}: what is guarded is changed by itself; send one setting at a time")
    problem = permits.problem(topology.device_of[act.target], guarded=guarded)
    if problem is not None:
        raise InvalidRequest(problem)
    return found


def is_guarded(target: str, names: Iterable[str], topology: Topology) -> bool:
    """Whether one of these settings is guarded under any condition: which one holds may turn before the write lands."""
    candidates = topology.capabilities.get(target, {})
    return any(each.guarded for name in names for each in candidates.get(name, ()))


def refusal_now(target: str, changes: Mapping[str, Value], topology: Topology, twin: Twin) -> str:
    """Why a write that was kept can't go by what is in force now, in words, or nothing."""
    try:
        for name, value in changes.items():
            _checked(target, name, value, topology, twin)
    except ValueRefused as refused:
        return str(refused)
    return ""


def _check_revision(act: RequestWrite, twin: Twin) -> None:
    reported = twin.get(act.target)
    if reported is None or not reported.current:
        raise InvalidRequest(f"{act.target}: the device has not reported its settings yet; wait for them")
    if not act.revision:
        raise RevisionMissing(act.target)
    current = twin.revision_of(act.target)
    if act.revision != current:
        raise RevisionStale(act.target, act.revision, current, reported.settings)


def _checked(target: str, name: str, value: object, topology: Topology, twin: Twin) -> Capability:
    candidates = topology.capabilities.get(target, {})
    if name not in candidates:
        raise ValueRefused(target, name, "is not a setting of this thing", {"settings": _writable(candidates)})
    position = position_now(target, name, topology, twin)
    if position is None:
        raise ValueRefused(target, name, f"is not there now: {_hangs_on(candidates[name])}", {})
    capability = candidates[name][position]
    if not capability.writable:
        raise ValueRefused(target, name, "can be read and not written", {})
    problem = problem_with(capability.schema, value)
    if problem is not None:
        raise ValueRefused(target, name, problem, allowed_by(capability.schema))
    return capability


def position_now(target: str, name: str, topology: Topology, twin: Twin) -> int | None:
    """Which of the capabilities of one setting is in force by the settings reported now, or None."""
    candidates = topology.capabilities.get(target, {}).get(name, ())

    def settings_of(address: str) -> Mapping[str, Value]:
        return twin.settings_of(address or target)

    found = in_force(candidates, settings_of)
    return None if found is None else candidates.index(found)


def _writable(capabilities: Mapping[str, tuple[Capability, ...]]) -> list[str]:
    return sorted(name for name, candidates in capabilities.items() if any(each.writable for each in candidates))


def _hangs_on(candidates: tuple[Capability, ...]) -> str:
    fields = dict.fromkeys(condition.field for each in candidates for condition in each.when)
    return f"it hangs on {', '.join(fields)}"


def allowed_by(schema: ValueSchema) -> dict[str, object]:
    """The allowed values as a fragment of JSON Schema."""
    allowed: dict[str, object] = {"type": schema.type.value}
    if schema.minimum is not None:
        allowed["minimum"] = schema.minimum
    if schema.maximum is not None:
        allowed["maximum"] = schema.maximum
    if schema.multiple_of is not None:
        allowed["multipleOf"] = schema.multiple_of
    if schema.enum:
        allowed["enum"] = list(schema.enum)
    if schema.type.value == "string":
        allowed["maxLength"] = schema.maximum_length
    return allowed
