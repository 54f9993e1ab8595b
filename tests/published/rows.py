"""The published values that concern this product, by subject: each with its tests, or why there are none."""

from __future__ import annotations

from tests.published.row import Row
from tests.published.rows_audio import DELAYS, FILTERS, LEVELS, METERS, SPEECH
from tests.published.rows_cells import CELLS
from tests.published.rows_fading import DIVERSITY, FADING
from tests.published.rows_paths import FREE_SPACE, INDOORS, PRODUCTS
from tests.published.rows_power import MODULATION, POWER
from tests.published.rows_rasters import RASTERS
from tests.published.rows_sets import SETS

SUBJECTS: dict[str, tuple[Row, ...]] = {
    "Power, noise, field strength": POWER,
    "Analog modulation": MODULATION,
    "Free space": FREE_SPACE,
    "Indoors, walls, bodies": INDOORS,
    "Fading": FADING,
    "Diversity": DIVERSITY,
    "Products of the third order": PRODUCTS,
    "Products of many carriers": SETS,
    "Rasters of broadcasters": RASTERS,
    "Audio levels": LEVELS,
    "Meters and weightings": METERS,
    "Filters": FILTERS,
    "Speech": SPEECH,
    "Delays": DELAYS,
    "Cells": CELLS,
}
