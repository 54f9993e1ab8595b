"""Rasters of broadcasters by region."""

from __future__ import annotations

from tests.published.row import Row

_HERE = "test_rasters.py::"

RASTERS = (
    Row(
        "Region 1, UHF: 306 + 8n MHz, edges 4 to either side; channels 21, 38, 48",
        "474 (470, 478); 610 (606, 614); 690 (686, 694)",
        "exact",
        "C, attribution from memory",
        "GE06 Agreement raster",
        (_HERE + "test_region_1_uhf", _HERE + "test_region_1_uhf_is_whole"),
    ),
    Row(
        "Region 1, band III: 177.5 + 7 (n-5) MHz; channels E5, E12",
        "177.5 (174, 181); 226.5",
        "exact",
        "C, attribution from memory",
        "GE06 Agreement raster",
        (_HERE + "test_region_1_band_iii",),
    ),
    Row(
        "United States, UHF: lower edge 470 + 6 (n-14) MHz; channels 14, 36, 37, the last not television",
        "470, 476; 602, 608; 608, 614",
        "exact",
        "C, attribution from memory",
        "47 CFR 73.603",
        (_HERE + "test_united_states_uhf",),
    ),
    Row(
        "United States, VHF: 2 to 4, 5 and 6, 7 to 13",
        "54, 72, 76, 88, 174, 216",
        "exact",
        "S",
        "47 CFR 15.236, revision of 1 September 2021",
        (_HERE + "test_united_states_vhf",),
    ),
    Row(
        "Japan, UHF: lower edge 470 + 6 (n-13) MHz, digital centre 473 + 1/7 MHz; channels 13, 52",
        "470, 476, 473.142857; 704, 710",
        "exact",
        "C, attribution from memory",
        "no document named",
        (_HERE + "test_japan",),
    ),
    Row(
        "Australia: 526 + 7 (n-28) MHz; channels 28, 51",
        "526, 533; 687, 694",
        "exact",
        "C, attribution from memory",
        "no document named",
        (_HERE + "test_australia",),
    ),
    Row(
        "which bands are open to microphones, at what power",
        "no figure",
        "",
        "M",
        "47 CFR 15.236 and 74.861, ERC/REC 70-03 annex 10",
        reason="from memory, and amended in 2024: bands are the user's to enter",
    ),
)
