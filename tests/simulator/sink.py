"""Consoles at the devices of *Kitchen sink*, and what the exercise protocol does to these."""

from __future__ import annotations

import json
from typing import Any

from fleet.protocol import messages
from simulator.exercise import ExerciseServer
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.desk import Desk

GATEWAY, BEHIND = "sink-gate-1", ("sink-behind-1", "sink-behind-2")


def desk_of(fleet: VirtualFleet, device_id: str, name: str = "desk", now_us: int = 0) -> Desk:
    """A console at a device, wherever it stands."""
    return Desk(fleet, device_id, now_us, behind=GATEWAY if device_id in BEHIND else "", name=name).enter()


def throw(desk: Desk, method: str, **params: object) -> dict[str, Any]:
    """Something that the exercise protocol does."""
    server = ExerciseServer(desk.fleet, lambda: desk.now_us, "token")
    answer = json.loads(server.answer(json.dumps({"jsonrpc": "2.0", "id": 1, "method": method, "params": params})))
    assert "result" in answer, answer
    found: dict[str, Any] = answer["result"]
    return found


def outcomes(desk: Desk) -> dict[str, str]:
    """What became of each command."""
    return {each.command_id: each.outcome for each in desk.all(messages.Outcome)}
