"""Spares held against surveys: when each was last looked at, what was heard there, and which to take first by that."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fleet.model.plan import Plan, PlanSpare
from fleet.model.survey import Scan
from fleet.planning.coordination.plan import Carrier
from fleet.planning.coordination.plan_document import carriers_of, request_of
from fleet.planning.coordination.request import Request
from fleet.planning.spares import PRACTICE, Look, RankedSpare, Spare, ranked
from fleet.planning.spectrum.floor import Floor, floor_of


def with_looks(plan: Plan, scans: Sequence[Scan], now_utc_us: int, file: str) -> Plan:
    """The plan with its spares ranked anew, by the last of the scans that covers each.

    A scan covers a spare where it measured all of the half spacing about it. A spare that was heard to be taken keeps
    the level that was heard, and is quiet at no time. Raises InvalidDocument.
    """
    request = request_of(plan, file)
    latest = [_Looked(scan) for scan in sorted(scans, key=lambda each: -each.taken_at_utc_us)]
    groups = {group.name: number for number, group in enumerate(request.group)}
    kept = {_carrier(each, groups, request): each for each in plan.spares}
    spares = [Spare(carrier, _last_look(carrier, request, latest)) for carrier in kept]
    order = ranked(request, carriers_of(plan, request, file), spares, now_utc_us)
    return replace(plan, spares=tuple(_as_kept(each, kept[each.spare.carrier]) for each in order))


class _Looked:
    """A scan and its floor."""

    def __init__(self, scan: Scan) -> None:
        self.scan = scan
        self._levels = np.array([np.nan if level is None else level for level in scan.maximum_dbm])
        self._frequencies_hz = scan.start_hz + scan.step_hz * np.arange(len(self._levels))
        self._floor: Floor | None = floor_of(self._frequencies_hz, self._levels)

    def look(self, frequency_hz: int, half_hz: int) -> Look | None:
        """The greatest level within so far of a frequency; None where the scan has a gap or an end there."""
        near = np.abs(self._frequencies_hz - frequency_hz) <= half_hz
        levels, first_hz, last_hz = self._levels[near], frequency_hz - half_hz, frequency_hz + half_hz
        covered = self._frequencies_hz[0] <= first_hz and last_hz <= self._frequencies_hz[-1]
        if self._floor is None or not covered or not len(levels) or bool(np.isnan(levels).any()):
            return None
        floor_dbm = float(self._floor.at(np.array([frequency_hz]))[0])
        return Look(self.scan.taken_at_utc_us, round(float(levels.max()), 1), round(floor_dbm, 1))


def _last_look(carrier: Carrier, request: Request, latest: Sequence[_Looked]) -> Look | None:
    half_hz = request.profile_of(request.group[carrier.group]).spacing_hz // 2
    looks = (each.look(carrier.point * request.raster_hz, half_hz) for each in latest)
    return next((look for look in looks if look is not None), None)


def _carrier(spare: PlanSpare, groups: dict[str, int], request: Request) -> Carrier:
    return Carrier(groups[spare.group], spare.frequency_hz // request.raster_hz)


def _as_kept(each: RankedSpare, before: PlanSpare) -> PlanSpare:
    look = each.spare.look
    if look is None:
        return replace(before, rank=each.rank)
    is_quiet = look.level_dbm - look.floor_dbm < PRACTICE.quiet_below_over_floor_db
    quiet_at = look.at_us if is_quiet else None
    return replace(before, rank=each.rank, quiet_at_utc_us=quiet_at, quiet_dbm=look.level_dbm)
