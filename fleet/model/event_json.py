"""Events as canonical JSON: the form in which the journal keeps them and the feed sends them.

Canonical means sorted keys, no spaces, UTF-8; the same event gives the same bytes in any process.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, get_args

import msgspec

from fleet.model.event import Event, Recorded

_BY_KIND: dict[str, Any] = {shape.kind: shape for shape in get_args(Event)}


def _contact_reached_directly(body: dict[str, Any]) -> dict[str, Any]:
    """Before version 2 there were no gateways."""
    return {**body, "contact": {**body["contact"], "reached_through": ""}}


def _description_of_a_receiver(body: dict[str, Any]) -> dict[str, Any]:
    """Before version 2 a device had no outputs, inputs, bays or acts, and nothing was guarded or conditional."""
    described = body["description"]
    capabilities = [{**each, "guarded": False, "when": []} for each in described["capabilities"]]
    more = {"capabilities": capabilities, "outputs": [], "inputs": [], "bays": [], "acts": []}
    return {**body, "description": {**described, **more}}


def _command_to_write(body: dict[str, Any]) -> dict[str, Any]:
    """Before version 2 every command was a write."""
    return {**body, "command": {**body["command"], "act": "", "progress": None, "result": {}}}


UPCASTS: dict[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]] = {
    ("contact changed", 1): _contact_reached_directly,
    ("device described", 1): _description_of_a_receiver,
    ("command changed", 1): _command_to_write,
}
"""From (kind, old version) to a function that turns that version's body into the next one's."""


def event_as_object(event: Event) -> dict[str, Any]:
    """The event as plain JSON values, its kind and version beside its own members."""
    body: dict[str, Any] = msgspec.to_builtins(event)
    return {"kind": event.kind, "version": event.version, **body}


def encode_event(event: Event) -> bytes:
    """The event's canonical JSON."""
    return msgspec.json.encode(event_as_object(event), order="sorted")


def encode_recorded(recorded: Recorded) -> bytes:
    """The event's canonical JSON with its sequence number; the hash of a run is over these, a line each."""
    return msgspec.json.encode(recorded_as_object(recorded), order="sorted")


def recorded_as_object(recorded: Recorded) -> dict[str, Any]:
    """The event with its sequence number, as the feed and the API show it."""
    return {"sequence": recorded.sequence, **event_as_object(recorded.event)}


def decode_event(data: bytes | str) -> Event:
    """Read an event of any version that was ever written.

    Raises ValueError when the kind is unknown or the body doesn't fit.
    """
    try:
        body = msgspec.json.decode(data, type=dict[str, Any])
        kind, version = body.pop("kind"), body.pop("version")
    except (msgspec.DecodeError, KeyError) as error:
        raise ValueError(f"not an event: {error}") from error
    shape = _BY_KIND.get(kind)
    if shape is None:
        raise ValueError(f"unknown kind of event {kind!r}")
    while version < shape.version:
        upcast = UPCASTS.get((kind, version))
        if upcast is None:
            raise ValueError(f"{kind} version {version} can't be read by this software")
        body = upcast(body)
        version += 1
    try:
        event: Event = msgspec.convert(body, type=shape)
    except msgspec.ValidationError as error:
        raise ValueError(f"{kind} version {version}: {error}") from error
    return event
