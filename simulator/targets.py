"""What a situation falls on, by name: ``$channel.pack``, ``$path``, ``$block_hz`` become what they stand for.

``$channel`` is an address, and so are ``$channel.carrier``, ``$channel.pack``, ``$channel.branch_a`` and
``$channel.branch_b``; ``$channel.device``, ``$channel.rack``, ``$channel.path`` and ``$channel.last_path`` (its first
and last antenna) and ``$channel.split`` (what the first goes through) are names, ``$channel.name`` is what it is called
and ``$channel.frequency_hz`` where it is tuned. ``$other``, ``$third``, ``$fourth`` and ``$fifth`` are channels, too,
and ``$place_m`` is a place. ``$channel.pack:rf_power_mw`` is what was set there when it began, so that it can be set
again, and ``$id`` is the id of what was thrown. A number may be added or taken away:
``$channel.frequency_hz+800000``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from fleet.errors import InvalidRequest, NotFound
from fleet.model.fields import Value
from simulator.situation import On
from simulator.step import Parameter
from simulator.virtual_fleet import VirtualFleet

_SHAPE = re.compile(r"\$([a-z_]+(?:\.[a-z_]+)?(?::[a-z_]+)?)(?:([+-])(\d+))?")
Names = dict[str, Parameter]
CHANNELS = ("channel", "other", "third", "fourth", "fifth")


def names_of(fleet: VirtualFleet, on: On) -> Names:
    """All that can be said of the targets as things are now.

    Raises NotFound for a target that isn't there.
    """
    said: Names = {"block_hz": on.block_hz, "rack": on.rack, "device": on.device, "path": on.path}
    names: Names = {name: value for name, value in said.items() if value}
    if on.place_m is not None:
        names["place_m"] = [*on.place_m]
    for key in CHANNELS:
        address: str = getattr(on, key)
        if address:
            names[key] = address
            for name, value in _of_channel(fleet, address).items():
                names[f"{key}{name}" if name.startswith(":") else f"{key}.{name}"] = value
    if on.path and on.path not in fleet.world.feeds.by_antenna:
        raise NotFound("antenna", on.path)
    if on.rack and on.rack not in fleet.racks.values():
        raise NotFound("rack", on.rack)
    if on.device:
        fleet.device(on.device)
    return names


def _of_channel(fleet: VirtualFleet, address: str) -> Names:
    row = next((row for row in fleet.world.rows if row.channel == address), None)
    if row is None:
        raise NotFound("channel", address)
    front = fleet.world.fronts[row.index]
    path, *others = row.receiver.antennas.values()
    branches = {f"branch_{branch.rpartition('/')[2]}": branch for branch in row.branches}
    return {
        "carrier": row.carrier,
        "pack": row.pack,
        "device": row.device_id,
        "rack": fleet.racks[row.device_id],
        "path": path,
        "last_path": others[-1] if others else path,
        "split": fleet.world.feeds.by_antenna[path].distribution,
        "name": str(front.channel["name"]),
        "frequency_hz": int(front.carrier["frequency_hz"]),
        **branches,
        **_settings("pack", fleet.world.packs[row.seat].settings),
        **_settings("carrier", front.carrier),
        **{f":{name}": value for name, value in front.channel.items()},
    }


def _settings(of: str, settings: Mapping[str, Value]) -> Names:
    return {f"{of}:{name}": value for name, value in settings.items()}


def filled(parameter: Parameter, names: Names) -> Parameter:
    """A parameter with its names filled in.

    Raises InvalidRequest for a name that this target doesn't have.
    """
    if isinstance(parameter, list):
        return [_plain(each, names) for each in parameter]
    if not isinstance(parameter, str) or not parameter.startswith("$"):
        return parameter
    shape = _SHAPE.fullmatch(parameter)
    if shape is None or shape[1] not in names:
        there = ", ".join("$" + name for name in names if ":" not in name) or "none"
        raise InvalidRequest(f"{parameter} stands for nothing here; names that do: {there}")
    found = names[shape[1]]
    if shape[2] is None:
        return found
    if not isinstance(found, int):
        raise InvalidRequest(f"{parameter}: nothing can be added to {found!r}")
    return found + int(shape[2] + shape[3])


def _plain(value: Value, names: Names) -> Value:
    found = filled(value, names)
    if isinstance(found, list):
        raise InvalidRequest(f"{value} stands for a list, and a list holds plain values")
    return found
