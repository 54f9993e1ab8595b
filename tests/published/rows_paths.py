"""Loss on the way: free space, indoors, walls and bodies; and products of the third order."""

from __future__ import annotations

from tests.published.row import Row

_FREE, _INDOOR = "test_free_space.py::", "test_indoor.py::"
_PRODUCTS, _ARITHMETIC = "test_third_order.py::", "arithmetic; the coefficients come from one second-hand source"


def _free_space(frequency_mhz: int, losses: str) -> Row:
    what = f"{frequency_mhz} MHz at 1, 10, 30, 50, 100, 300, 1000 m"
    return Row(what, f"{losses} dB", "0.005 dB", "C", "ITU-R P.525", (_FREE + "test_table",))


def _indoor(what: str, losses: str, test: str, source: str) -> Row:
    return Row(what, f"{losses} dB", "0.01 dB", "C", f"{source}: {_ARITHMETIC}", (_INDOOR + test,))


FREE_SPACE = (
    _free_space(174, "17.259, 37.259, 46.801, 51.238, 57.259, 66.801, 77.259"),
    _free_space(470, "25.890, 45.890, 55.432, 59.869, 65.890, 75.432, 85.890"),
    _free_space(500, "26.427, 46.427, 55.970, 60.407, 66.427, 75.970, 86.427"),
    _free_space(600, "28.011, 48.011, 57.553, 61.990, 68.011, 77.553, 88.011"),
    _free_space(694, "29.275, 49.275, 58.817, 63.254, 69.275, 78.817, 89.275"),
    _free_space(823, "30.756, 50.756, 60.298, 64.735, 70.756, 80.298, 90.756"),
    _free_space(1900, "38.023, 58.023, 67.565, 72.002, 78.023, 87.565, 98.023"),
    _free_space(2400, "40.052, 60.052, 69.594, 74.031, 80.052, 89.594, 100.052"),
    Row(
        "constant for MHz and km; P.525 rounds it",
        "32.448 dB; 32.4 dB",
        "0.001 dB; 0.06 dB",
        "C",
        "ITU-R P.525",
        (_FREE + "test_rounded_constants",),
    ),
    Row("constant for MHz and m", "-27.552 dB", "0.001 dB", "C", "ITU-R P.525", (_FREE + "test_rounded_constants",)),
    Row("twice the distance or the frequency", "6.0206 dB", "1e-4 dB", "C", "ITU-R P.525", (_FREE + "test_doubling",)),
)
_OLD, _NEW = "ITU-R P.1238-9 and before", "ITU-R P.1238-11, table 2"
INDOORS = (
    _indoor("N = 33, 900 MHz, 10, 20, 30 m", "64.08, 74.02, 79.83", "test_old_form", _OLD),
    _indoor("N = 20, 900 MHz, 10, 20, 30 m", "51.08, 57.11, 60.63", "test_old_form", _OLD),
    _indoor("office within sight, 0.6 GHz, 10, 20 m", "44.72, 49.11", "test_site_general", _NEW),
    _indoor("office out of sight, 0.6 GHz, 10, 20, 30 m", "48.85, 56.26, 60.59", "test_site_general", _NEW),
    _indoor("corridor within sight, 0.6 GHz, 10, 30 m", "39.43, 47.21", "test_site_general", _NEW),
    _indoor("industrial within and out of sight, 0.65 GHz, 30 m", "54.79, 74.49", "test_site_general", _NEW),
    Row(
        "office and corridor within sight lie below free space at 10 m and 0.6 GHz",
        "48.01 dB",
        "0.005 dB",
        "C",
        _NEW,
        (_INDOOR + "test_walls_guide_the_wave",),
    ),
    Row(
        "N in dwellings, offices and shops; losses of floors",
        "20 to 33; 4 to 15 dB and more",
        "",
        "S, second-hand",
        _OLD,
        reason="second-hand or from memory; whoever asks for the old form states them",
    ),
    Row(
        "industrial out of sight: where it was measured",
        "from 0.625 GHz, 5.0 to 108.0 m",
        "exact",
        "S, second-hand",
        f"{_NEW}, as reported",
        (_INDOOR + "test_where_it_was_measured",),
    ),
    Row(
        "coefficients of six environments, their other ranges and spreads",
        "36 figures",
        "",
        "S, second-hand",
        _NEW,
        reason="one second-hand source, not compared with later editions; what follows from them is asserted above",
    ),
    Row(
        "what walls of wood, concrete and stone take",
        "4 to 20 dB",
        "",
        "S, second-hand",
        "COST 231, as reported",
        reason="for sanity only; what a wall takes is the scenario's to say",
    ),
    Row(
        "a body only takes away, most straight behind it",
        "no figure",
        "",
        "shape",
        "text on body-worn transmitters",
        ("../physics/test_ways.py::test_a_body_only_takes_away_and_most_behind",),
    ),
    Row(
        "decibels that a body takes",
        "none confirmed",
        "",
        "M",
        "-",
        reason="nobody read the tables: an assumption that the scenario states for each pack",
    ),
)
PRODUCTS = (
    Row(
        "2A - B of two equal carriers: -30 dBm and IIP3 0, -20 and +10, -40 and -10",
        "-90, -80, -100 dBm",
        "exact",
        "C",
        "3 P - 2 IIP3",
        (_PRODUCTS + "test_two_equal_carriers",),
    ),
    Row(
        "A + B - C over 2A - B; of three at -30 dBm, IIP3 0",
        "6.02 dB; -83.98 dBm",
        "0.005 dB",
        "C",
        "Hausman, Carrier Triple Beats",
        (_PRODUCTS + "test_triple_beat",),
    ),
    Row(
        "unequal carriers, 2 Pa + Pb - 2 IIP3, against the spectrum of a sampled cubic",
        "three sets of levels",
        "0.01 dB",
        "C",
        "numpy's Fourier transform",
        (_PRODUCTS + "test_against_a_spectrum",),
    ),
    Row(
        "slope of a product over its carriers",
        "3 dB a dB",
        "0.001 dB",
        "C",
        "numpy's Fourier transform",
        (
            _PRODUCTS + "test_slope_of_three",
            "../statistics/test_meters.py::test_products_rise_three_decibels_for_each_decibel_as_a_sampled_cubic_does",
        ),
    ),
    Row(
        "range without products: IIP3 -10 dBm, noise -115 dBm",
        "70.0 dB",
        "exact",
        "C",
        "2/3 (IIP3 - N)",
        (_PRODUCTS + "test_spurious_free_range",),
    ),
)
