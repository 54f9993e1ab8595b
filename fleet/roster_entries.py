"""What follows from a device list and the devices of the start-up together: pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fleet.config import DeviceAddress
from fleet.model.device import ContactState
from fleet.model.device_list import (
    Announced,
    DeviceEntry,
    DeviceList,
    Discovered,
    Expects,
    Given,
    ListedDevice,
    Standing,
)
from fleet.reach import Reach, UnreachablePlace, read_device_url

_SIMULATED = {Expects.EITHER: None, Expects.REAL: False, Expects.SIMULATED: True}
_EXPECTS = {simulated: expects for expects, simulated in _SIMULATED.items()}


def entries_of(seed: Sequence[DeviceAddress], listed: DeviceList) -> tuple[DeviceEntry, ...]:
    """Every device that is known by a list: those of the start-up in their order, then those that the list adds."""
    by_id = {device.device_id: device for device in listed.devices}
    first = [
        _seeded(device) if device.device_id not in by_id else _listed(by_id[device.device_id], device)
        for device in seed
    ]
    seeded = {device.device_id for device in seed}
    return (*first, *(_listed(device, None) for device in listed.devices if device.device_id not in seeded))


def _seeded(device: DeviceAddress) -> DeviceEntry:
    return DeviceEntry(
        device_id=device.device_id,
        url=device.url,
        label=device.label,
        expects=_EXPECTS[device.simulated],
        token=device.token,
        enabled=True,
        given=Given.START_UP,
        replay=device.replay is not None,
    )


def _listed(device: ListedDevice, seeded: DeviceAddress | None) -> DeviceEntry:
    return DeviceEntry(
        device_id=device.device_id,
        url=device.url,
        label=device.label,
        expects=device.expects,
        token=device.token,
        enabled=device.enabled,
        given=Given.LIST if seeded is None else Given.LIST_BEFORE_START_UP,
        replay=plays_back(device, seeded),
    )


def plays_back(device: ListedDevice, seeded: DeviceAddress | None) -> bool:
    """Whether an entry stands for the recording that was given at start-up under its id."""
    return seeded is not None and seeded.replay is not None and seeded.url == device.url


def as_listed(entry: DeviceEntry) -> ListedDevice:
    """The entry as a list would have it."""
    return ListedDevice(entry.device_id, entry.url, entry.label, entry.expects, entry.token, entry.enabled)


def addresses_of(entries: Sequence[DeviceEntry], seed: Sequence[DeviceAddress]) -> tuple[DeviceAddress, ...]:
    """Where the devices are called that are to be watched."""
    seeded = {device.device_id: device for device in seed}
    return tuple(
        DeviceAddress(
            device_id=entry.device_id,
            url=entry.url,
            replay=seeded[entry.device_id].replay if entry.replay else None,
            label=entry.label,
            simulated=_SIMULATED[entry.expects],
            token=entry.token,
        )
        for entry in entries
        if entry.enabled
    )


def place_of(url: str) -> str:
    """The URL in its one form; as it is where it has none, as a recording's."""
    try:
        return read_device_url(url).url
    except UnreachablePlace:
        return url


def standing_of(
    announced: Announced, entries: Sequence[DeviceEntry], contacts: Mapping[str, ContactState], reach: Reach
) -> Discovered:
    """How something that announces itself stands to the list; what it claims is not believed by that."""
    urls, refused = _callable(announced.urls, reach)
    if not urls:
        return Discovered(announced, "", Standing.OUT_OF_REACH, refused or "it names no address")
    known = next((entry for entry in entries if entry.device_id == announced.device_id), None)
    at_place = next((entry for entry in entries if place_of(entry.url) in urls), None)
    if at_place is not None and (known is None or known is at_place):
        return Discovered(announced, place_of(at_place.url), Standing.LISTED, "")
    if known is None:
        return Discovered(announced, urls[0], Standing.NEW, "")
    contact = contacts.get(known.device_id)
    if contact is not None and contact.in_contact:
        reason = f"{known.device_id} is in contact at {known.url}; two devices must not have one id"
        return Discovered(announced, urls[0], Standing.ELSEWHERE, reason)
    return Discovered(announced, urls[0], Standing.MOVED, f"{known.device_id} is listed at {known.url}")


def _callable(urls: Sequence[str], reach: Reach) -> tuple[list[str], str]:
    """Those of the places that may be called, and why the first of the others may not."""
    found, refused = [], ""
    for url in urls:
        try:
            place = read_device_url(url)
            reach.check_place(place)
            found.append(place.url)
        except UnreachablePlace as error:
            refused = refused or str(error)
    return found, refused
