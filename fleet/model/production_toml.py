"""Reading a production document from TOML.

::

    name = "The Lamp at Tern Rock"

    [[zone]]
    name = "House"

    [[zone.position]]
    number = 1
    part = "Keeper"
    channel = "house-1/channel/1"
    pack = "pack/k01"
    spare = false               # may be left out
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from fleet.errors import InvalidDocument
from fleet.model.address import Place, parse_address
from fleet.model.production import Position, Production

NAME_LENGTH_MAXIMUM = 64
POSITIONS_MAXIMUM = 2_000
_ROOT_KEYS = {"name", "zone"}
_ZONE_KEYS = {"name", "position"}
_POSITION_KEYS = {"number", "part", "channel", "pack", "spare"}


def read_production(text: str, file: str) -> Production:
    """Read a production document; ``file`` names it in errors.

    Raises InvalidDocument with the key and what was expected there; unknown keys are refused.
    """
    try:
        root = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InvalidDocument(file, "(the whole file)", f"TOML ({error})") from error
    _refuse_unknown(root, _ROOT_KEYS, file, "")
    zones = _tables(root, "zone", file, "zone")
    names = tuple(_name(zone, "name", file, f"zone[{index}]") for index, zone in enumerate(zones))
    _refuse_repeats(names, file, "zone", "zone names that differ")
    positions = tuple(
        position for index, zone in enumerate(zones) for position in _zone_positions(zone, file, f"zone[{index}]")
    )
    if len(positions) > POSITIONS_MAXIMUM:
        raise InvalidDocument(file, "zone", f"at most {POSITIONS_MAXIMUM} positions", len(positions))
    _refuse_repeats([str(position.number) for position in positions], file, "number", "numbers that differ")
    _refuse_repeats([position.channel for position in positions], file, "channel", "channels that differ")
    _refuse_repeats([p.pack for p in positions if p.pack is not None], file, "pack", "packs that differ")
    return Production(_name(root, "name", file, ""), names, positions)


def _zone_positions(zone: Mapping[str, Any], file: str, path: str) -> list[Position]:
    _refuse_unknown(zone, _ZONE_KEYS, file, path)
    rows = _tables(zone, "position", file, f"{path}.position")
    return [_position(row, zone["name"], file, f"{path}.position[{index}]") for index, row in enumerate(rows)]


def _position(row: Mapping[str, Any], zone: str, file: str, path: str) -> Position:
    _refuse_unknown(row, _POSITION_KEYS, file, path)
    number = row.get("number")
    if not isinstance(number, int) or isinstance(number, bool) or number < 1:
        raise InvalidDocument(file, f"{path}.number", "a whole number from 1", number)
    spare = row.get("spare", False)
    if not isinstance(spare, bool):
        raise InvalidDocument(file, f"{path}.spare", "true or false", spare)
    return Position(
        number=number,
        part=_name(row, "part", file, path),
        zone=zone,
        channel=_address(row.get("channel"), Place.CHANNEL, file, f"{path}.channel"),
        pack=None if "pack" not in row else _address(row["pack"], Place.PACK, file, f"{path}.pack"),
        spare=spare,
    )


def _tables(table: Mapping[str, Any], key: str, file: str, path: str) -> list[dict[str, Any]]:
    found = table.get(key, [])
    if not isinstance(found, list) or not all(isinstance(entry, dict) for entry in found):
        raise InvalidDocument(file, path, f"tables headed [[{path.split('[', maxsplit=1)[0]}]]", found)
    return found


def _name(table: Mapping[str, Any], key: str, file: str, path: str) -> str:
    found = table.get(key)
    where = f"{path}.{key}" if path else key
    if not isinstance(found, str) or not found.strip() or len(found) > NAME_LENGTH_MAXIMUM or not found.isprintable():
        raise InvalidDocument(file, where, f"a name of 1 to {NAME_LENGTH_MAXIMUM} printable characters", found)
    return found


def _address(found: object, place: Place, file: str, path: str) -> str:
    try:
        address = parse_address(found if isinstance(found, str) else "")
    except ValueError as error:
        raise InvalidDocument(file, path, f"the address of a {place}", found) from error
    if address.place is not place:
        raise InvalidDocument(file, path, f"the address of a {place}", found)
    return address.text


def _refuse_unknown(table: Mapping[str, Any], known: set[str], file: str, path: str) -> None:
    for key in table:
        if key not in known:
            where = f"{path}.{key}" if path else key
            raise InvalidDocument(file, where, f"one of {', '.join(sorted(known))}", key)


def _refuse_repeats(values: tuple[str, ...] | list[str], file: str, key: str, expected: str) -> None:
    seen: set[str] = set()
    for value in values:
        if value in seen:
            raise InvalidDocument(file, key, expected, value)
        seen.add(value)
