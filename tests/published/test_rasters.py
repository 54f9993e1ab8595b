"""Rasters of broadcasters, against the rules that are named beside each; facts for labelling, never permission."""

from __future__ import annotations

import pytest

from fleet.model.region import Block
from fleet.planning.spectrum.regions import region_of, regions


def block(region: str, name: str, band: str = "") -> Block:
    rasters = [raster for raster in region_of(region).rasters if band in raster.words]
    (found,) = [each for raster in rasters for each in raster.blocks if each.name == name]
    return found


def edges_mhz(found: Block) -> tuple[float, float]:
    return found.start_hz / 1e6, found.stop_hz / 1e6


# GE06 Agreement raster: the centre is 306 + 8 n MHz, the edges 4 MHz to either side.
@pytest.mark.parametrize(
    ("number", "centre_mhz", "edges"), [(21, 474, (470, 478)), (38, 610, (606, 614)), (48, 690, (686, 694))]
)
def test_region_1_uhf(number: int, centre_mhz: int, edges: tuple[int, int]) -> None:
    found = block("region-1", f"{number}")
    assert found.centre_hz == centre_mhz * 1_000_000 == (306 + 8 * number) * 1_000_000
    assert edges_mhz(found) == edges


def test_region_1_uhf_is_whole() -> None:
    (raster,) = [each for each in region_of("region-1").rasters if "UHF" in each.words]
    assert (raster.blocks[0].name, raster.blocks[-1].name) == ("21", "48")
    assert (raster.blocks[0].start_hz, raster.blocks[-1].stop_hz) == (470_000_000, 694_000_000)
    assert all(low.stop_hz == high.start_hz for low, high in zip(raster.blocks, raster.blocks[1:], strict=False))


# GE06 Agreement raster: the centre is 177.5 + 7 (n - 5) MHz.
@pytest.mark.parametrize(("number", "centre_mhz"), [(5, 177.5), (12, 226.5)])
def test_region_1_band_iii(number: int, centre_mhz: float) -> None:
    found = block("region-1", f"E{number}")
    assert found.centre_hz == round(centre_mhz * 1e6) == round((177.5 + 7 * (number - 5)) * 1e6)
    assert edges_mhz(block("region-1", "E5")) == (174, 181)


# 47 CFR 73.603: the lower edge is 470 + 6 (n - 14) MHz; 37 is for radio astronomy and telemetry.
@pytest.mark.parametrize(("number", "edges"), [(14, (470, 476)), (36, (602, 608)), (37, (608, 614))])
def test_united_states_uhf(number: int, edges: tuple[float, float]) -> None:
    found = block("united-states", f"{number}")
    assert edges_mhz(found) == edges
    told = (True, "") if number != 37 else (False, "radio astronomy and telemetry")
    assert (found.television, found.words) == told


# 47 CFR 15.236, text of 1 September 2021: 54 to 72, 76 to 88 and 174 to 216 MHz.
def test_united_states_vhf() -> None:
    spans = [edges_mhz(block("united-states", name)) for name in ("2", "4", "5", "6", "7", "13")]
    assert spans == [(54, 60), (66, 72), (76, 82), (82, 88), (174, 180), (210, 216)]


# Japan: the lower edge is 470 + 6 (n - 13) MHz, a digital centre 473 + 1/7 MHz and on in steps of 6.
def test_japan() -> None:
    first, last = block("japan", "13"), block("japan", "52")
    assert (edges_mhz(first), edges_mhz(last)) == ((470, 476), (704, 710))
    assert first.centre_hz / 1e6 == pytest.approx(473.142857, abs=1e-6)
    assert last.centre_hz / 1e6 == pytest.approx(473 + 1 / 7 + 6 * 39, abs=1e-6)


# Australia: 526 + 7 (n - 28) MHz.
def test_australia() -> None:
    assert edges_mhz(block("australia", "28")) == (526, 533)
    assert edges_mhz(block("australia", "51")) == (687, 694)


def test_every_raster_says_whence_and_whether_anybody_has_looked() -> None:
    rasters = [raster for region in regions() for raster in region.rasters]
    assert all(raster.source and raster.dated for raster in rasters)
    assert {raster.source for raster in rasters if not raster.unverified} == {"47 CFR 15.236"}
    assert all(each.stop_hz - each.start_hz == raster.width_hz for raster in rasters for each in raster.blocks)
