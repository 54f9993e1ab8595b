"""Broadcast blocks in a scan: those of a region's raster that are full."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from fleet.model.region import Block, Region
from fleet.model.survey_found import FoundBlock, FoundCarrier
from fleet.planning.spectrum.carriers import Trace
from fleet.planning.spectrum.scan import array_of

BLOCK_ABOVE_DB = 5.0
"""Assumption: a point of a block counts as taken from here up; a broadcast is as strong from one edge to the other."""
BLOCK_SHARE = 0.5
"""Assumption: a block is full where so many of its points are taken; a few carriers never take that many."""
_COVERED_SHARE = 0.5


def blocks_of(trace: Trace, region: Region) -> list[FoundBlock]:
    """Every block of a region that the scan reaches, by rising frequency."""
    blocks = sorted((block for raster in region.rasters for block in raster.blocks), key=lambda block: block.start_hz)
    first_hz, last_hz = int(trace.frequency_hz[0]), int(trace.frequency_hz[-1])
    return [_block(trace, block) for block in blocks if block.start_hz <= last_hz and first_hz < block.stop_hz]


def with_blocks(carriers: Iterable[FoundCarrier], blocks: Iterable[FoundBlock]) -> list[FoundCarrier]:
    """Carriers with the name of the occupied block that they belong to."""
    occupied = [block for block in blocks if block.occupied]
    return [
        replace(carrier, block=next((block.name for block in occupied if _holds(block, carrier.peak_hz)), ""))
        for carrier in carriers
    ]


def _holds(block: FoundBlock, frequency_hz: int) -> bool:
    return block.start_hz <= frequency_hz < block.stop_hz


def _block(trace: Trace, block: Block) -> FoundBlock:
    inside = (trace.frequency_hz >= block.start_hz) & (trace.frequency_hz < block.stop_hz)
    levels = array_of(trace.scan.median_dbm)[inside]
    known = ~np.isnan(levels)
    share, level_dbm = None, None
    if np.count_nonzero(known) * trace.scan.step_hz >= _COVERED_SHARE * (block.stop_hz - block.start_hz):
        above = levels[known] > trace.floor_dbm[inside][known] + BLOCK_ABOVE_DB
        share = round(float(np.mean(above)), 3)
        level_dbm = _power_dbm(trace, levels[known], block)
    occupied = share is not None and share >= BLOCK_SHARE
    return FoundBlock(
        block.name, block.start_hz, block.stop_hz, block.television, occupied, share, level_dbm, block.words
    )


def _power_dbm(trace: Trace, levels: np.ndarray, block: Block) -> float | None:
    """The power of a whole block: its mean level by how many bandwidths it holds."""
    bandwidth_hz = trace.scan.bandwidth_hz
    if bandwidth_hz is None:
        return None
    mean_dbm = 10.0 * math.log10(float(np.mean(10.0 ** (levels / 10.0))))
    return round(mean_dbm + 10.0 * math.log10((block.stop_hz - block.start_hz) / bandwidth_hz), 1)
