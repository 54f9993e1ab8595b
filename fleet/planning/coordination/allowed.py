"""Where carriers may stand: windows less exclusions, within what their devices tune to."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.planning.coordination.request import Exclusion, Group, Request, Tuning, Window, points_of

Flags = NDArray[np.bool_]


def span_of(request: Request) -> range:
    """All raster points from the lowest that matters to the highest: of windows, and of carriers that stand."""
    raster = request.raster_hz
    spans = [span for window in request.window if (span := points_of(request, window))]
    standing = [hz // raster for group in request.group for hz in group.fixed_hz]
    standing += [protected.frequency_hz // raster for protected in request.protected]
    low = min([*(span.start for span in spans), *standing])
    high = max([*(span.stop - 1 for span in spans), *standing])
    return range(low, high + 1)


def allowed_points(request: Request, group: Group, span: range) -> Flags:
    """For each raster point of a span whether carriers of a group may stand there."""
    allowed = _inside(request, request.window, span) & ~_inside(request, request.exclusion, span)
    tuning = next((each for each in request.tuning if each.name == group.tuning), None)
    return allowed if tuning is None else allowed & _tuned(request, tuning, span)


def _inside(request: Request, windows: tuple[Window, ...] | tuple[Exclusion, ...], span: range) -> Flags:
    found = np.zeros(len(span), dtype=np.bool_)
    for window in windows:
        points = points_of(request, window)
        found[max(0, points.start - span.start) : max(0, points.stop - span.start)] = True
    return found


def _tuned(request: Request, tuning: Tuning, span: range) -> Flags:
    frequencies_hz = np.arange(span.start, span.stop, dtype=np.int64) * request.raster_hz
    found = np.zeros(len(span), dtype=np.bool_)
    for start_hz, stop_hz in tuning.ranges:
        inside = (frequencies_hz >= start_hz) & (frequencies_hz <= stop_hz)
        found |= inside & ((frequencies_hz - start_hz) % tuning.step_hz == 0)
    return found
