"""Everything that a scan shows, in one look."""

from __future__ import annotations

import math

from fleet.model.region import Region
from fleet.model.survey import Scan
from fleet.model.survey_found import FloorPoint, ScanFound
from fleet.planning.spectrum.blocks import blocks_of, with_blocks
from fleet.planning.spectrum.carriers import carriers_of, trace_of
from fleet.planning.spectrum.exclusions import EXCLUSIONS_MAXIMUM, exclusions_of
from fleet.planning.spectrum.floor import STEP_UP_DB_MAXIMUM, Floor, floor_of
from fleet.planning.spectrum.scan import array_of, frequencies_of


def found_in(scan: Scan, region: Region | None = None) -> ScanFound:
    """The floor of a scan, its carriers, the blocks of a region, and what to keep out of."""
    floor = floor_of_scan(scan)
    if floor is None:
        return ScanFound(scan.scan_id, region.name if region else "", 0.0, None, (), (), (), (), ("no levels",))
    trace = trace_of(scan, floor, floor.looks)
    blocks = blocks_of(trace, region) if region else []
    carriers = with_blocks(carriers_of(trace), blocks)
    margin_hz = max(trace.half_hz - scan.step_hz // 2, 0)
    exclusions = exclusions_of(carriers, blocks, scan.place, margin_hz)
    points = zip(floor.frequency_hz.tolist(), floor.floor_dbm.tolist(), strict=True)
    return ScanFound(
        scan_id=scan.scan_id,
        region=region.name if region else "",
        threshold_db=round(trace.threshold_db, 1),
        looks=None if math.isinf(floor.looks) else round(floor.looks, 1),
        floor=tuple(FloorPoint(round(frequency_hz), round(floor_dbm, 1)) for frequency_hz, floor_dbm in points),
        carriers=tuple(carriers),
        blocks=tuple(blocks),
        exclusions=tuple(exclusions),
        words=tuple(_words(scan, floor, len(exclusions))),
    )


def floor_of_scan(scan: Scan) -> Floor | None:
    """The floor beneath a scan, from the median of its sweeps; None where nothing was measured."""
    return floor_of(frequencies_of(scan), array_of(scan.median_dbm), scan.sweeps)


def _words(scan: Scan, floor: Floor, exclusions: int) -> list[str]:
    said = []
    if floor.filled:
        said.append(
            f"{floor.filled} stretches lie more than {STEP_UP_DB_MAXIMUM:g} dB above the lowest: taken as full of "
            "signals, over the floor of their neighbours"
        )
    if exclusions >= EXCLUSIONS_MAXIMUM:
        said.append(f"more than {EXCLUSIONS_MAXIMUM} exclusions: those near together were made one")
    if scan.sweeps == 1:
        said.append("one sweep: what was off at that moment isn't in it, and occupancy says yes or no only")
    return said
