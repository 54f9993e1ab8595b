"""ITU-R P.1238 as arithmetic: the coefficients are reported by one secondary source, the sums are exact."""

from __future__ import annotations

import pytest

from fleet.physics.indoor import INDOOR_PLACES, old_form_loss_db, site_general_loss_db
from fleet.physics.propagation import free_space_loss_db


@pytest.mark.parametrize(
    ("place", "frequency_ghz", "distance_m", "loss_db"),
    [
        ("office within sight", 0.6, 10, 44.72),
        ("office within sight", 0.6, 20, 49.11),
        ("office out of sight", 0.6, 10, 48.85),
        ("office out of sight", 0.6, 20, 56.26),
        ("office out of sight", 0.6, 30, 60.59),
        ("corridor within sight", 0.6, 10, 39.43),
        ("corridor within sight", 0.6, 30, 47.21),
        ("industrial within sight", 0.65, 30, 54.79),
        ("industrial out of sight", 0.65, 30, 74.49),
    ],
)
def test_site_general(place: str, frequency_ghz: float, distance_m: float, loss_db: float) -> None:
    """P.1238-11, site-general form, worked by hand."""
    found = site_general_loss_db(INDOOR_PLACES[place], distance_m, frequency_ghz * 1e9)
    assert float(found) == pytest.approx(loss_db, abs=0.01)


@pytest.mark.parametrize(
    ("coefficient", "distance_m", "loss_db"),
    [(33, 10, 64.08), (33, 20, 74.02), (33, 30, 79.83), (20, 10, 51.08), (20, 20, 57.11), (20, 30, 60.63)],
)
def test_old_form(coefficient: float, distance_m: float, loss_db: float) -> None:
    """P.1238-9 and before, at 900 MHz, worked by hand."""
    assert float(old_form_loss_db(coefficient, distance_m, 900e6)) == pytest.approx(loss_db, abs=0.01)


def test_walls_guide_the_wave() -> None:
    """Within sight at 10 m and 0.6 GHz, office and corridor lie below free space, 48.01 dB: published, and no slip."""
    free_space_db = float(free_space_loss_db(10.0, 600e6))
    assert free_space_db == pytest.approx(48.01, abs=0.005)
    for name in ("office within sight", "corridor within sight"):
        assert float(site_general_loss_db(INDOOR_PLACES[name], 10.0, 600e6)) < free_space_db


def test_where_it_was_measured() -> None:
    """Industrial places were measured from 625 MHz up, and 5 m where out of sight."""
    place = INDOOR_PLACES["industrial out of sight"]
    assert place.covers([4.9, 5.0, 108.0, 109.0], 650e6).tolist() == [False, True, True, False]
    assert place.covers(10.0, [600e6, 624e6, 625e6]).tolist() == [False, False, True]


@pytest.mark.parametrize(("distance_m", "frequency_hz"), [(0.0, 600e6), (10.0, 0.0), (-1.0, 600e6)])
def test_refuses(distance_m: float, frequency_hz: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        site_general_loss_db(INDOOR_PLACES["office within sight"], distance_m, frequency_hz)
    with pytest.raises(ValueError, match="above"):
        old_form_loss_db(30.0, 1.0, 600e6)
