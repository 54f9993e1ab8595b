"""The binary messages, taken apart by hand with struct, byte by byte as their layout says."""

from __future__ import annotations

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.feed_frames import Columns, Stamp, encode_readings, encode_recent
from fleet.model.address import Place
from fleet.model.fields import Plane
from fleet.model.moment import Moment

AT = Moment(81_000_000, 1_760_000_000_123_456)
NAN = float("nan")


@dataclass
class Cells:
    """A recent past of two rows by three cells."""

    median_dbm: NDArray[np.float64]
    worst_dbm: NDArray[np.float64]
    damage: NDArray[np.float64]
    speech: NDArray[np.float64]
    reported: NDArray[np.float64]
    deaf: NDArray[np.uint8]


def columns_of(
    heads: dict[int, Plane], values: list[list[float]], qualities: list[list[int]], ages: list[list[int]]
) -> Columns:
    return Columns(
        tuple(heads),
        tuple(heads.values()),
        np.array(values, dtype=np.float64),
        np.array(qualities, dtype=np.uint8),
        np.array(ages, dtype=np.uint16),
    )


def test_readings_are_laid_out_as_documented() -> None:
    stamp = Stamp(epoch=7, sequence=2**32 + 9, at=AT)
    columns = columns_of(
        {2: Plane.FLOAT32, 4: Plane.UINT8},
        [[-55.5, NAN, -105.25], [6.0, NAN, 1.0]],
        [[1, 0, 2], [1, 0, 3]],
        [[0, 65_535, 21], [1, 65_535, 300]],
    )
    data = encode_readings(Place.CHANNEL, stamp, columns)

    # kind, version, table, column count, row count, epoch, sequence, utc, monotonic
    assert struct.unpack_from("<BBBBIIIQQ", data) == (1, 1, 3, 2, 3, 7, 9, AT.utc_us, AT.monotonic_us)
    # First column: header, three floats, three qualities and one byte of padding, three ages and two bytes of padding.
    assert struct.unpack_from("<HBB", data, 32) == (2, 0, 0)
    first, second, third = struct.unpack_from("<3f", data, 36)
    assert (first, third) == (-55.5, -105.25)
    assert second != second  # noqa: PLR0124  (only NaN differs from itself)
    assert struct.unpack_from("<3Bx", data, 48) == (1, 0, 2)
    assert struct.unpack_from("<3H2x", data, 52) == (0, 65_535, 21)
    # Second column: three bytes and one of padding in place of the floats.
    assert struct.unpack_from("<HBB", data, 60) == (4, 1, 0)
    assert struct.unpack_from("<3Bx", data, 64) == (6, 0, 1)
    assert struct.unpack_from("<3Bx", data, 68) == (1, 0, 3)
    assert struct.unpack_from("<3H2x", data, 72) == (1, 65_535, 300)
    assert len(data) == 80


def test_tables_have_the_numbers_of_the_layout() -> None:
    places = [Place.DEVICE, Place.CARRIER, Place.BRANCH, Place.CHANNEL, Place.PACK]
    columns = columns_of({0: Plane.FLOAT32}, [[0.0]], [[1]], [[0]])
    assert [encode_readings(place, Stamp(1, 1, AT), columns)[2] for place in places] == [0, 1, 2, 3, 4]


def test_a_table_without_rows_is_a_header_and_its_columns() -> None:
    columns = columns_of({0: Plane.FLOAT32, 3: Plane.UINT8}, [[], []], [[], []], [[], []])
    assert len(encode_readings(Place.PACK, Stamp(1, 1, AT), columns)) == 32 + 2 * 4


def test_columns_come_in_their_order_however_they_travel() -> None:
    heads = {5: Plane.UINT8, 1: Plane.FLOAT32, 7: Plane.UINT8, 2: Plane.FLOAT32}
    columns = columns_of(heads, [[6.0], [-1.5], [3.0], [2.5]], [[1], [2], [3], [0]], [[1], [2], [3], [4]])
    data = encode_readings(Place.CHANNEL, Stamp(1, 1, AT), columns)
    # Each plane of one row is padded to four bytes, so that a column takes sixteen with its header.
    assert struct.unpack_from("<HBBB3xB3xH2x", data, 32) == (5, 1, 0, 6, 1, 1)
    assert struct.unpack_from("<HBBfB3xH2x", data, 48) == (1, 0, 0, -1.5, 2, 2)
    assert struct.unpack_from("<HBBB3xB3xH2x", data, 64) == (7, 1, 0, 3, 3, 3)
    assert struct.unpack_from("<HBBfB3xH2x", data, 80) == (2, 0, 0, 2.5, 0, 4)
    assert len(data) == 96


def test_the_recent_past_is_laid_out_as_documented() -> None:
    cells = Cells(
        median_dbm=np.array([[-55.04, NAN, -160.0], [-105.06, 0.0, 1e9]]),
        worst_dbm=np.array([[-70.0, NAN, -160.0], [-1e9, 0.0, 30.0]]),
        damage=np.array([[0.0, 0.5, 1.0], [NAN, 2.0, -1.0]]),
        speech=np.array([[1.0, 0.0, 0.25], [0.0, 0.0, 0.0]]),
        reported=np.array([[1.0, 1.0, 1.0], [0.0, 0.0, 0.0]]),
        deaf=np.array([[0, 1, 2], [3, 0, 0]], dtype=np.uint8),
    )
    data = encode_recent(Stamp(7, 3, AT), cells)
    # kind, version, table, zero, row count, epoch, cells, utc, monotonic
    assert struct.unpack_from("<BBBBIIIQQ", data) == (2, 1, 3, 0, 2, 7, 3, AT.utc_us, AT.monotonic_us)
    assert struct.unpack_from("<6h", data, 32) == (-550, -32_768, -1600, -1051, 0, 32_767)
    assert struct.unpack_from("<6h", data, 44) == (-700, -32_768, -1600, -32_767, 0, 300)
    # Round half to even: 0.5 * 255 = 127.5 gives 128, 0.25 * 255 = 63.75 gives 64.
    assert struct.unpack_from("<6B2x", data, 56) == (0, 128, 255, 0, 255, 0)
    assert struct.unpack_from("<6B2x", data, 64) == (255, 0, 64, 0, 0, 0)
    assert struct.unpack_from("<6B2x", data, 72) == (255, 255, 255, 0, 0, 0)
    assert struct.unpack_from("<6B2x", data, 80) == (0, 1, 2, 3, 0, 0)
    assert len(data) == 88
