"""``redpoll exercise``: one request of the exercise protocol from the command line."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence

from api.compose.exercise_client import ExerciseClient
from fleet.errors import InvalidRequest


class WrongParameter(InvalidRequest):
    """A parameter on the command line isn't NAME=VALUE."""

    def __init__(self, text: str) -> None:
        super().__init__(f"{text!r} is not a parameter; write NAME=VALUE, as in device_id=quay-3 or seconds=6.5")


async def run_exercise(url: str, token: str, method: str, parameters: Sequence[str]) -> int:
    """Send one request and print the answer as JSON.

    Raises WrongParameter, and DeviceRefusal with the simulator's words.
    """
    asked = dict(_parameter(text) for text in parameters)
    async with ExerciseClient(url, token) as exercise:
        answer = await exercise.call(method, **asked)
    sys.stdout.write(json.dumps(answer, indent=2) + "\n")
    return 0


def _parameter(text: str) -> tuple[str, object]:
    """A name and its value: JSON where it reads as such, plain text otherwise."""
    name, equals, value = text.partition("=")
    if not equals or not name:
        raise WrongParameter(text)
    try:
        return name, json.loads(value)
    except json.JSONDecodeError:
        return name, value
