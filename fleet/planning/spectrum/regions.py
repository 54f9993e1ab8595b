"""The regions that come with the software, each with the rasters of its broadcasters and their sources."""

from __future__ import annotations

import functools
import tomllib
from importlib.resources import files

import msgspec

from fleet.errors import NotFound
from fleet.model.region import Block, Raster, Region

_FILE = "regions.toml"


class _Raster(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How a raster stands in the file."""

    words: str
    width_hz: int
    first: int
    last: int
    start_hz: int
    source: str
    dated: str
    unverified: bool
    prefix: str = ""
    centre_hz_off: int = 0
    not_television: dict[str, str] = {}


class _Region(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    name: str
    words: str
    raster: tuple[_Raster, ...]


class _File(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    region: tuple[_Region, ...]


@functools.cache
def regions() -> tuple[Region, ...]:
    """Every region that comes with the software."""
    text = files("fleet.planning.spectrum").joinpath(_FILE).read_text("utf-8")
    found = msgspec.convert(tomllib.loads(text), _File)
    return tuple(Region(each.name, each.words, tuple(map(_raster, each.raster))) for each in found.region)


def region_of(name: str) -> Region:
    """The region of that name. Raises NotFound."""
    for region in regions():
        if region.name == name:
            return region
    raise NotFound("region", name)


def _raster(row: _Raster) -> Raster:
    return Raster(row.words, row.width_hz, row.source, row.dated, row.unverified, tuple(_blocks(row)))


def _blocks(row: _Raster) -> list[Block]:
    blocks = []
    for number in range(row.first, row.last + 1):
        name, start_hz = f"{row.prefix}{number}", row.start_hz + (number - row.first) * row.width_hz
        words = row.not_television.get(name, "")
        centre_hz = start_hz + row.width_hz // 2 + row.centre_hz_off
        blocks.append(Block(name, start_hz, start_hz + row.width_hz, centre_hz, not words, words))
    return blocks
