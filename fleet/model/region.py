"""The blocks that broadcasters use in a part of the world: labels for a spectrum, never a permission."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Block:
    """One block of a raster. ``television`` is False where broadcasters keep out for somebody named in ``words``."""

    name: str
    start_hz: int
    stop_hz: int
    centre_hz: int
    television: bool = True
    words: str = ""


@dataclass(frozen=True, slots=True)
class Raster:
    """Blocks of one width, and where they are known from: a label, never a permission."""

    words: str
    width_hz: int
    source: str
    dated: str
    unverified: bool
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Region:
    """The rasters of a part of the world."""

    name: str
    words: str
    rasters: tuple[Raster, ...]
