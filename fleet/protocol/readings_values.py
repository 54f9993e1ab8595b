"""The values of a readings frame as an array."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.errors import MalformedMessage
from fleet.model.quality import Quality
from fleet.protocol.messages import Readings


def values_of(frame: Readings, length: int) -> NDArray[np.float64]:
    """The frame's values, float64 of shape ``(length,)``, NaN for absent.

    Finite numbers only: the codec lets no other in. Raises MalformedMessage when the layout has another length.
    """
    if len(frame.values) != length:
        raise MalformedMessage(f"a frame of {len(frame.values)} values where the layout has {length}")
    return np.array(frame.values, dtype=np.float64)


def qualities_of(frame: Readings, values: NDArray[np.float64]) -> NDArray[np.uint8] | None:
    """The quality of each value, uint8 and shaped as ``values``, or None when all that is present is good.

    Raises MalformedMessage when the frame gives a quality to a value it doesn't have.
    """
    if not frame.qualities:
        return None
    qualities = np.where(np.isnan(values), Quality.ABSENT, Quality.GOOD).astype(np.uint8)
    for index, code in frame.qualities.items():
        if index >= len(qualities):
            raise MalformedMessage(f"a quality for value {index} of {len(qualities)}")
        qualities[index] = code
    return qualities
