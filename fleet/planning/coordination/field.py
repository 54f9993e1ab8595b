"""The products of a plan: how many fall where over its windows, and those near one frequency with their makers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from fleet.model.plan import PlanProduct, ProductField
from fleet.physics.intermodulation import LAID_OUT, THIRD, Family, layout, total
from fleet.physics.products import Powers, products_near
from fleet.planning.coordination.plan import Carrier, strangers_of
from fleet.planning.coordination.request import Request, points_of
from fleet.planning.coordination.rooms import heard_in_zone

FIFTH = tuple(family for family in LAID_OUT if family not in THIRD)
RULED = (*THIRD, Family.FIFTH_TWO)
FAMILIES: dict[int | None, tuple[Family, ...]] = {None: RULED, 3: THIRD, 5: FIFTH}
"""The families of each order, as far as they are laid out; for no order those that profiles have guards for."""
PRODUCTS_SHOWN_MAXIMUM = 1_000
Counts = NDArray[np.int64]


def heard_in(request: Request, carriers: Iterable[Carrier], zone: str | None) -> tuple[Carrier, ...]:
    """Those of the carriers that are heard in a zone, somebody else's among them; all of them for no zone."""
    everybody = (*carriers, *strangers_of(request))
    if zone is None:
        return everybody
    parties = heard_in_zone(request, zone)
    return tuple(each for each in everybody if each.group in parties)


def product_field(request: Request, carriers: Iterable[Carrier]) -> ProductField:
    """How many products fall on each raster point from the first window's start to the last one's end.

    Carriers that share a frequency make products once. Those outside the windows count as makers too.
    """
    spans = [points_of(request, window) for window in request.window]
    first, stop = min(span.start for span in spans), max(span.stop for span in spans)
    points = _points(carriers)
    return ProductField(
        start_hz=first * request.raster_hz,
        step_hz=request.raster_hz,
        third=tuple(_counts(points, THIRD, first, stop - first).tolist()),
        fifth=tuple(_counts(points, FIFTH, first, stop - first).tolist()),
        fifth_of_five=total(Family.FIFTH_FIVE, len(points)),
    )


def products_at(
    request: Request, carriers: Iterable[Carrier], frequency_hz: int, within_hz: int, families: Sequence[Family]
) -> tuple[PlanProduct, ...]:
    """The products that fall less than ``within_hz`` from a frequency, the worst first, at most a thousand.

    Where the request says what comes into the receivers, products of the third order have levels, all carriers taken as
    equally strong, and the strongest are the worst; else the nearest are. Raises ValueError for a frequency that is no
    raster point.
    """
    raster = request.raster_hz
    if frequency_hz % raster:
        raise ValueError(f"{frequency_hz} Hz is no multiple of the raster, which is {raster} Hz")
    victim, guard = frequency_hz // raster, -(-within_hz // raster)
    points = _points(carriers).tolist()
    front = request.front_end
    powers = None if front is None else Powers((front.carrier_dbm,) * len(points), front.intercept_dbm)
    found = products_near(points, victim, guard, families, powers=powers, most=PRODUCTS_SHOWN_MAXIMUM)
    return tuple(
        PlanProduct(
            family=product.family.value,
            makers_hz=tuple(maker * raster for maker in product.makers),
            frequency_hz=product.place * raster,
            distance_hz=abs(product.place - victim) * raster,
            level_dbm=product.level_dbm,
        )
        for product in found
    )


def _points(carriers: Iterable[Carrier]) -> Counts:
    return np.array(sorted({each.point for each in carriers}), dtype=np.int64)


def _counts(points: Counts, families: Sequence[Family], first: int, size: int) -> Counts:
    """All products of some families together on ``size`` points from ``first`` on."""
    found = np.zeros(size, dtype=np.int64)
    for family in families:
        laid = layout(points, family)
        start, stop = max(first, laid.first), min(first + size, laid.first + len(laid.counts))
        if start < stop:
            found[start - first : stop - first] += laid.counts[start - laid.first : stop - laid.first]
    return found
