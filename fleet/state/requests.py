"""A request to change settings, checked in full before anything of it is believed or sent."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.errors import InvalidRequest, NotFound, RevisionMissing, RevisionStale, ValueRefused
from fleet.model.capability import Capability, ValueSchema, problem_with
from fleet.model.inputs import RequestWrite
from fleet.state.twin import Reported
from fleet.topology import Topology


def check_request(act: RequestWrite, topology: Topology, reported: Reported | None, read_only: bool) -> None:
    """Refuse a write that can't be done as asked.

    Raises NotFound, InvalidRequest, RevisionMissing, RevisionStale or ValueRefused; nothing was changed then.
    """
    if act.target not in topology.device_of:
        raise NotFound("thing with settings", act.target)
    if not act.changes:
        raise InvalidRequest(f"{act.target}: the write changes nothing; name at least one setting")
    if read_only:
        raise InvalidRequest(f"{act.target}: the device allows reading only")
    if reported is None or not reported.current:
        raise InvalidRequest(f"{act.target}: the device has not reported its settings yet; wait for them")
    if not act.revision:
        raise RevisionMissing(act.target)
    if act.revision != reported.revision:
        raise RevisionStale(act.target, act.revision, reported.revision, reported.settings)
    capabilities = topology.capabilities.get(act.target, {})
    for name, value in act.changes.items():
        _check_value(act.target, name, value, capabilities)


def _check_value(target: str, name: str, value: object, capabilities: Mapping[str, Capability]) -> None:
    capability = capabilities.get(name)
    if capability is None:
        writable = sorted(field for field, each in capabilities.items() if each.writable)
        raise ValueRefused(target, name, "is not a setting of this thing", {"settings": writable})
    if not capability.writable:
        raise ValueRefused(target, name, "can be read and not written", {})
    problem = problem_with(capability.schema, value)
    if problem is not None:
        raise ValueRefused(target, name, problem, allowed_by(capability.schema))


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
