"""Requests read strictly, from TOML or from what a document holds: unknown keys and impossible values are refused."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import msgspec
from msgspec.structs import replace

from fleet.errors import InvalidDocument
from fleet.planning.coordination.plan import OUTSIDE, check, standing
from fleet.planning.coordination.request import Protected, Request
from fleet.planning.coordination.request_checks import Problem, problems


def read_request(text: str, file: str) -> Request:
    """The request in a TOML text.

    Raises InvalidDocument with file, key and what was expected.
    """
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InvalidDocument(file, "document", "TOML", str(error)) from error
    return request_of_values(values, file)


def request_of_values(values: Any, file: str) -> Request:
    """The request that plain values hold, with the keys that it has in TOML.

    Raises InvalidDocument with file, key and what was expected.
    """
    try:
        request = msgspec.convert(values, Request)
    except msgspec.ValidationError as error:
        sentence, _, path = str(error).partition(" - at `$")
        key = path.removesuffix("`").removeprefix(".")
        unknown = re.fullmatch(r"Object contains unknown field `(.*)`", sentence)
        if unknown:
            raise InvalidDocument(file, f"{key}.{unknown[1]}".lstrip("."), "a key that requests have") from error
        if "matching regex" in sentence:
            sentence = "a sign that is none, or one that turns or hides text"
        raise InvalidDocument(file, key or "document", "what a request can say", sentence) from error
    for key, expected, found in problems(request):
        raise InvalidDocument(file, key, expected, found)
    request = replace(request, protected=_merged(request.protected))
    contradicting = contradiction(request)
    if contradicting is not None:
        key, expected, found = contradicting
        raise InvalidDocument(file, key, expected, found)
    return request


def _merged(protected: tuple[Protected, ...]) -> tuple[Protected, ...]:
    """Somebody else's carriers, of those said twice for one place and frequency one, with the wider needs of both."""
    found: dict[tuple[int, str], Protected] = {}
    everywhere = {each.frequency_hz for each in protected if not each.zone}
    for each in protected:
        zone = "" if each.frequency_hz in everywhere else each.zone
        known = found.get((each.frequency_hz, zone), each)
        found[(each.frequency_hz, zone)] = Protected(
            frequency_hz=each.frequency_hz,
            spacing_hz=max(each.spacing_hz, known.spacing_hz),
            zone=zone,
            profile=known.profile or each.profile,
            words=known.words or each.words,
        )
    return tuple(found.values())


def contradiction(request: Request) -> Problem | None:
    """Where carriers that may not be moved break a rule among themselves: key, what was expected, what was found."""
    faults = [fault for fault in check(request, standing(request)).faults if fault.rule != OUTSIDE]
    if not faults:
        return None
    short = f"{faults[0].short_db} dB" if faults[0].short_db else f"{faults[0].short_hz} Hz"
    expected = (
        "fixed, locked and protected carriers that keep the rules among themselves; unlock one, or make one that "
        "can't be helped a [[protected]] one without a profile"
    )
    found = f"{faults[0].frequency_hz} Hz breaks {faults[0].rule} by {short}"
    return _key_of(request, faults[0].frequency_hz), expected, found


def _key_of(request: Request, frequency_hz: int) -> str:
    for index, group in enumerate(request.group):
        for name, standing_hz in (("fixed_hz", group.fixed_hz), ("locked_hz", group.locked_hz)):
            if frequency_hz in standing_hz:
                return f"group[{index}].{name}[{standing_hz.index(frequency_hz)}]"
    return "protected"
