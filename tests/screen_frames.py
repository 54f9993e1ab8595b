"""The binary frames of the live feed read by hand, as a screen must, from their description alone."""

from __future__ import annotations

import struct
from dataclasses import dataclass

from fleet.model.quality import Quality

HEADER = struct.Struct("<BBBBIIIQQ")
COLUMN = struct.Struct("<HBB")
FLOAT32, UINT8 = 0, 1


@dataclass(frozen=True)
class ScreenFrame:
    """One table's frame: values and qualities by column index, then row."""

    table: int
    utc_us: int
    values: dict[int, tuple[float, ...]]
    qualities: dict[int, tuple[int, ...]]
    ages_100ms: dict[int, tuple[int, ...]]

    def value(self, column: int, row: int) -> tuple[float, Quality]:
        """One reading."""
        return self.values[column][row], Quality(self.qualities[column][row])


def parse_frame(data: bytes) -> ScreenFrame:
    """Take a readings frame apart; it must be used up to the last byte."""
    kind, version, table, columns, rows, _, _, utc_us, _ = HEADER.unpack_from(data)
    assert (kind, version) == (1, 1)
    frame = ScreenFrame(table, utc_us, {}, {}, {})
    at = HEADER.size
    for _ in range(columns):
        index, plane, zero = COLUMN.unpack_from(data, at)
        assert zero == 0
        at += COLUMN.size
        for found, code in ((frame.values, "f" if plane == FLOAT32 else "B"), (frame.qualities, "B"),
                            (frame.ages_100ms, "H")):  # fmt: skip
            found[index] = struct.unpack_from(f"<{rows}{code}", data, at)
            size = rows * struct.calcsize(code)
            at += size + -size % 4
    assert at == len(data)
    return frame
