"""What is wrong with a device list, in words, before any of it is kept."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from fleet.ids import is_device_id
from fleet.model.device_list import DeviceList, ListedDevice
from fleet.model.device_list_toml import DEVICES_MAXIMUM
from fleet.reach import Reach, UnreachablePlace, read_device_url

LABEL_MAXIMUM = 128
_TOKEN_NAME = re.compile(r"[a-z0-9._-]{1,64}\Z")


@dataclass(frozen=True, slots=True)
class ListProblem:
    """What is wrong: with which device, which of its members, and why."""

    device_id: str
    field: str
    reason: str


def problem_with_list(listed: DeviceList, reach: Reach) -> ListProblem | None:
    """The first thing that is wrong with a list, or None."""
    if len(listed.devices) > DEVICES_MAXIMUM:
        return ListProblem("", "devices", f"must be at most {DEVICES_MAXIMUM}")
    ids: set[str] = set()
    places: dict[str, str] = {}
    for device in listed.devices:
        problem = problem_with_device(device, reach)
        if problem is not None:
            return problem
        if device.device_id in ids:
            return ListProblem(device.device_id, "id", "is in the list twice")
        place = read_device_url(device.url).url
        if place in places:
            return ListProblem(device.device_id, "url", f"is the address of {places[place]} too")
        ids.add(device.device_id)
        places[place] = device.device_id
    return None


def problem_with_device(device: ListedDevice, reach: Reach) -> ListProblem | None:
    """What is wrong with one device of a list, or None. An id that can't be one is not repeated."""
    if not is_device_id(device.device_id):
        return ListProblem("", "id", "must be 1 to 64 of a-z 0-9 . _ - and not 'pack'")
    if len(device.label) > LABEL_MAXIMUM or not _is_printable(device.label):
        return ListProblem(device.device_id, "label", f"must be at most {LABEL_MAXIMUM} printable characters")
    if device.token and not _TOKEN_NAME.match(device.token):
        return ListProblem(device.device_id, "token", "must be the name of a token: 1 to 64 of a-z 0-9 . _ -")
    try:
        reach.check_place(read_device_url(device.url))
    except UnreachablePlace as error:
        return ListProblem(device.device_id, "url", f"can't be used: {error}")
    return None


def _is_printable(text: str) -> bool:
    return not any(unicodedata.category(character).startswith("C") for character in text)
