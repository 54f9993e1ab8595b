"""The binary messages of the live feed, little-endian, made from arrays and nothing else.

*Readings* (kind 1). Header of 32 bytes: u8 kind, u8 version, u8 table (0 device, 1 carrier, 2 branch, 3 channel,
4 pack), u8 column count, u32 row count, u32 epoch, u32 frame sequence, u64 utc_us, u64 monotonic_us. Then for each
column: u16 index into the snapshot's columns, u8 plane (0 float32, 1 uint8), u8 zero; the value plane, the quality
plane (u8), the age plane (u16 in tenths of a second, 65535 for older or never). Each plane is padded to a multiple of
four bytes. An absent value is NaN, or 0 in a uint8 plane.

*Recent* (kind 2). Header of 32 bytes: u8 kind, u8 version, u8 table (3), u8 zero, u32 row count, u32 epoch, u32 cells,
u64 utc_us, u64 monotonic_us. Then planes of rows by cells, each padded as above: i16 median and i16 worst level in
tenths of a dBm (-32768 for absent), u8 damage, u8 speech and u8 reported, each as a share of 255, and u8 deaf branches
(bit 0 for the first).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from fleet.model.address import Place
from fleet.model.fields import Plane
from fleet.model.moment import Moment

READINGS_KIND = 1
RECENT_KIND = 2
LAYOUT_VERSION = 1
TABLE_NUMBERS = {
    Place.DEVICE: 0,
    Place.CARRIER: 1,
    Place.BRANCH: 2,
    Place.CHANNEL: 3,
    Place.PACK: 4,
    Place.OUTPUT: 5,
    Place.INPUT: 6,
    Place.BAY: 7,
}
FLOAT32_PLANE = 0
UINT8_PLANE = 1
RECENT_CELLS = 512
LEVEL_ABSENT = -32_768
_READINGS_HEADER = struct.Struct("<BBBBIIIQQ")
_RECENT_HEADER = struct.Struct("<BBBBIIIQQ")
_COLUMN_HEADER = struct.Struct("<HBB")
_ALIGNMENT = 4
_UINT32 = 2**32
_LEVEL_SCALE = 10.0
_SHARE_SCALE = 255.0


@dataclass(frozen=True, slots=True)
class Stamp:
    """Which frame it is: the epoch of its rows, its number, its moment."""

    epoch: int
    sequence: int
    at: Moment


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns of a frame: the index of each in the table, how it travels, and the planes, shaped [column, row]."""

    indices: tuple[int, ...]
    planes: tuple[Plane, ...]
    values: NDArray[np.float64]
    qualities: NDArray[np.uint8]
    ages_100ms: NDArray[np.uint16]


class RecentCells(Protocol):
    """The recent past of every channel on the strand's axis, each shaped [row, cell].

    Levels are in dBm, NaN for absent; damage, speech and reported are shares from 0 to 1; deaf is a bit a branch,
    bit 7 sleep.
    """

    @property
    def median_dbm(self) -> NDArray[np.floating[Any]]:
        """The median level of the better branch."""

    @property
    def worst_dbm(self) -> NDArray[np.floating[Any]]:
        """The worst level of the better branch."""

    @property
    def damage(self) -> NDArray[np.floating[Any]]:
        """The greatest share of damaged audio."""

    @property
    def speech(self) -> NDArray[np.floating[Any]]:
        """The share of time with speech."""

    @property
    def reported(self) -> NDArray[np.floating[Any]]:
        """The share of time that was reported at all."""

    @property
    def deaf(self) -> NDArray[np.uint8]:
        """The branches that were deaf."""


def encode_readings(place: Place, stamp: Stamp, columns: Columns) -> bytes:
    """One table's frame."""
    count, rows = columns.values.shape
    header = _READINGS_HEADER.pack(
        READINGS_KIND,
        LAYOUT_VERSION,
        TABLE_NUMBERS[place],
        count,
        rows,
        stamp.epoch,
        stamp.sequence % _UINT32,
        stamp.at.utc_us,
        stamp.at.monotonic_us,
    )
    parts = zip(
        _column_headers(columns),
        _values(columns),
        _each_padded(columns.qualities),
        _each_padded(columns.ages_100ms.astype("<u2")),
        strict=True,
    )
    return header + b"".join(chain.from_iterable(parts))


def encode_recent(stamp: Stamp, cells: RecentCells) -> bytes:
    """The recent past of every channel."""
    rows, count = cells.median_dbm.shape
    table = TABLE_NUMBERS[Place.CHANNEL]
    at = stamp.at
    parts = [
        _RECENT_HEADER.pack(RECENT_KIND, LAYOUT_VERSION, table, 0, rows, stamp.epoch, count, at.utc_us, at.monotonic_us)
    ]
    parts.extend(_padded(_tenths(levels)) for levels in (cells.median_dbm, cells.worst_dbm))
    parts.extend(_padded(_shares(shares)) for shares in (cells.damage, cells.speech, cells.reported))
    parts.append(_padded(cells.deaf.astype(np.uint8)))
    return b"".join(parts)


def _column_headers(columns: Columns) -> Iterator[bytes]:
    for index, plane in zip(columns.indices, columns.planes, strict=True):
        yield _COLUMN_HEADER.pack(index, FLOAT32_PLANE if plane is Plane.FLOAT32 else UINT8_PLANE, 0)


def _values(columns: Columns) -> Iterator[bytes]:
    """Each column's values as they travel."""
    whole = np.array([plane is not Plane.FLOAT32 for plane in columns.planes], dtype=np.bool_)
    numbers = iter(_each_padded(columns.values[~whole].astype("<f4")))
    coded = columns.values[whole]
    codes = iter(_each_padded(np.where(np.isnan(coded), 0.0, coded).astype(np.uint8)))
    return (next(codes if is_whole else numbers) for is_whole in whole.tolist())


def _each_padded(plane: NDArray[Any]) -> list[bytes]:
    """The bytes of each column: all made at once, then cut."""
    columns, rows = plane.shape
    size = rows * plane.itemsize
    data, padding = plane.tobytes(), bytes(-size % _ALIGNMENT)
    return [data[column * size : (column + 1) * size] + padding for column in range(columns)]


def _padded(array: NDArray[Any]) -> bytes:
    data = array.tobytes()
    return data + bytes(-len(data) % _ALIGNMENT)


def _tenths(levels: NDArray[np.floating[Any]]) -> NDArray[np.int16]:
    tenths = np.clip(np.rint(levels * _LEVEL_SCALE), LEVEL_ABSENT + 1, -LEVEL_ABSENT - 1)
    whole: NDArray[np.int16] = np.where(np.isnan(tenths), LEVEL_ABSENT, tenths).astype("<i2")
    return whole


def _shares(shares: NDArray[np.floating[Any]]) -> NDArray[np.uint8]:
    scaled = np.clip(np.rint(shares * _SHARE_SCALE), 0.0, _SHARE_SCALE)
    whole: NDArray[np.uint8] = np.nan_to_num(scaled, nan=0.0).astype(np.uint8)
    return whole
