"""The published values that concern this product: each with the test that holds us to it, or why none does.

Marks: C was verified by calculation, S was read in a document (a second-hand reading says so), M is from memory. Values
from memory are never asserted.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """One published value or table; ``test`` is a file and a function of it, ``reason`` stands where there is none."""

    subject: str
    value: str
    mark: str
    source: str
    test: str = ""
    reason: str = ""


_POWER, _FM, _FIELD = "test_power_and_noise.py::", "test_fm.py::", "test_field_strength.py::"
_FREE, _INDOOR, _THEORY = "test_free_space.py::", "test_indoor.py::", "test_fade_statistics.py::"
_FADING, _DIVERSITY, _RUNNING = "test_fading.py::", "test_diversity.py::", "../statistics/test_fading.py::"
_LEVELS, _HIGH_PASS, _CELLS = "test_levels.py::", "test_high_pass.py::", "test_cells.py::"
_NO_LOUDNESS = "the product measures no loudness"
_NO_SAMPLES = "the simulator makes levels of sound, no samples"

POWER_AND_NOISE = (
    Row("1 to 1000 mW as dBm", "seven values, 0.001 dB", "C", "ITU-R V.574", _POWER + "test_milliwatts_and_dbm"),
    Row(
        "half-wave dipole's directivity",
        "1.64092, 2.1509 dBi",
        "C",
        "4 / Cin(2 pi)",
        _POWER + "test_half_wave_dipole_against_its_exact_directivity",
    ),
    Row(
        "50 and 250 mW e.r.p. as e.i.r.p.",
        "82.03, 410.1 mW",
        "C",
        "Radio Regulations, article 1",
        _POWER + "test_erp_as_eirp",
    ),
    Row("100 mW e.i.r.p. as e.r.p.", "60.95 mW", "C", "Radio Regulations, article 1", _POWER + "test_eirp_as_erp"),
    Row("k T0 B in ten bandwidths", "-133.006 to -100.965 dBm", "C", "SI of 2019", _POWER + "test_thermal_noise"),
    Row("floor, 200 kHz, noise figure 6 dB", "-114.965 dBm", "C", "k T0 B", _POWER + "test_floor_with_a_noise_figure"),
    Row("Friis cascade", "3.351 dB", "C", "Friis 1944", _POWER + "test_cascade"),
    Row(
        "noise temperatures of 1, 3, 6, 10 dB", "75.09 to 2610 K", "C", "Friis 1944", _POWER + "test_noise_temperature"
    ),
    Row(
        "1, 10, 100 microvolts in 50 ohms",
        "-106.990, -86.990, -66.990 dBm",
        "C",
        "arithmetic",
        _FIELD + "test_voltage_in_fifty_ohms",
    ),
    Row(
        "0 dBuV/m on an isotropic antenna, four frequencies",
        "-131.20 to -134.05 dBm",
        "C",
        "ITU-R P.525",
        _FIELD + "test_power_from_a_field",
    ),
    Row(
        "field of 1 kW at 1 km",
        "104.77 and 106.92 dBuV/m, 173.2 mV/m",
        "C",
        "ITU-R P.525, P.1546 as reported",
        _FIELD + "test_field_over_a_kilometre",
    ),
    Row("S = E - x", "x = 145.76 dB", "C", "ITU-R P.525", _FIELD + "test_power_density"),
    Row("Carson's rule", "120 and 180 kHz", "C", "Carlson; Haykin", _FM + "test_carson"),
    Row("FM improvement, D = 3, Carson's bandwidth", "20.33 dB", "C", "Carlson; Haykin", _FM + "test_improvement"),
    Row("FM improvement, D = 3, 200 kHz", "22.55 dB", "C", "Carlson; Haykin", _FM + "test_gain_in_a_wider_band"),
    Row(
        "emphasis of 50 and 75 us",
        "3183.1, 2122.1 Hz; 13.66, 17.07 dB",
        "C",
        "arithmetic",
        reason="the analog links are modelled without emphasis",
    ),
    Row("threshold of a discriminator", "about 10 dB", "M", "Rice 1963", _FM + "test_shape_about_the_knee"),
    Row(
        "reference sensitivity of land-mobile radio",
        "12 and 20 dB SINAD",
        "M",
        "TIA-603, EN 300 086",
        reason="from memory, and no figures of radio microphones",
    ),
    Row("link budget: 10 dBm, 600 MHz, 30 m", "-47.553 dBm, 67.41 dB", "C", "ITU-R P.525", _FREE + "test_link_budget"),
)
PATH_LOSS = (
    Row(
        "free space, nine frequencies, seven distances", "63 losses, 0.005 dB", "C", "ITU-R P.525", _FREE + "test_table"
    ),
    Row("twice the distance or frequency", "6.0206 dB", "C", "ITU-R P.525", _FREE + "test_doubling"),
    Row(
        "indoor, form up to P.1238-9",
        "six losses, arithmetic only",
        "C",
        "ITU-R P.1238-9; coefficients second-hand or from memory",
        _INDOOR + "test_old_form",
    ),
    Row(
        "indoor, site-general form",
        "ten losses, arithmetic only",
        "C",
        "ITU-R P.1238-11, table 2, second-hand",
        _INDOOR + "test_site_general",
    ),
    Row(
        "where the indoor forms were measured",
        "frequencies and distances",
        "S, second-hand",
        "ITU-R P.1238-11, table 2",
        _INDOOR + "test_where_it_was_measured",
    ),
    Row(
        "losses of walls",
        "4 to 15 dB",
        "S, second-hand",
        "COST 231, reported",
        reason="for sanity only; what a wall takes is the scenario's to say",
    ),
    Row(
        "a body only takes away, most behind it",
        "qualitative",
        "S, second-hand",
        "text on body-worn transmitters",
        "../physics/test_ways.py::test_a_body_only_takes_away_and_most_behind",
    ),
    Row(
        "decibels of a body",
        "none confirmed",
        "M",
        "-",
        reason="nobody read the tables: an assumption that the user states",
    ),
)
FADING = (
    Row(
        "Rayleigh: share below 0, -3, -10, -20, -30 dB",
        "0.63212 to 9.9950e-4",
        "C",
        "Rice 1944/45",
        _THEORY + "test_table_at_three_hertz",
    ),
    Row("the same in the running world", "0 to -20 dB", "C", "Rice 1944/45", _RUNNING + "test_share_of_time_below"),
    Row(
        "Rayleigh median; levels exceeded 90, 99, 99.9 %",
        "-1.5917; -9.773, -19.978, -29.998 dB",
        "C",
        "Rice 1944/45",
        _THEORY + "test_level_by_share",
    ),
    Row(
        "mean envelope about the rms",
        "-1.0491 dB",
        "C",
        "Rice 1944/45",
        reason="no meter here shows an envelope's mean",
    ),
    Row("Doppler of 1 m/s; speed for 3 Hz", "2.0014 Hz; 1.4990 m/s", "C", "arithmetic", _FADING + "test_doppler"),
    Row(
        "J0: zeros, values at 0.1 to 1 wavelength",
        "0.38274; 0.90371 to 0.22028",
        "C",
        "Clarke 1968",
        reason="a property of scipy's Bessel function, which the tests of correlation use as their oracle",
    ),
    Row("correlation in time", "J0 squared", "C", "Clarke 1968; Jakes 1974", _RUNNING + "test_autocorrelation_in_time"),
    Row(
        "correlation of branches by spacing",
        "0.2228 at a quarter, 0.0926 at half a wavelength",
        "C",
        "Clarke 1968; Jakes 1974",
        _RUNNING + "test_correlation_of_branches_by_spacing",
    ),
    Row(
        "0.3827 wavelengths at 500, 600, 650 MHz",
        "229.5, 191.2, 176.5 mm",
        "C",
        "arithmetic",
        reason="follows from J0's first zero",
    ),
    Row(
        "crossings and fades at 3 Hz, five levels",
        "2.7664/s, 228.50 ms and so on",
        "C",
        "Rice 1944/45; Jakes 1974",
        _THEORY + "test_table_at_three_hertz",
    ),
    Row("crossings in the running world", "0 to -20 dB", "C", "Rice 1944/45", _RUNNING + "test_level_crossing_rate"),
    Row(
        "fade durations in the running world",
        "0 to -20 dB",
        "C",
        "Rice 1944/45",
        _RUNNING + "test_average_fade_duration",
    ),
    Row("greatest crossing rate", "1.0750 fd at rho = 1 / sqrt 2", "C", "Rice 1944/45", _THEORY + "test_greatest_rate"),
    Row(
        "worked examples of crossings and fades",
        "18.44/s; 19.95 us to 18.30 ms",
        "C, attribution from memory",
        "Rappaport",
        _THEORY + "test_worked_examples",
    ),
    Row(
        "four branches 10 dB below",
        "0.0952, 8.20e-5",
        "C, attribution from memory",
        "Rappaport",
        _DIVERSITY + "test_four_branches_by_a_textbook",
    ),
    Row("Rice: share below, K 0 to 10 dB", "table", "C", "Rice 1944/45", _FADING + "test_rice_distribution"),
    Row(
        "Rice in the running world",
        "K 3, 6, 10 dB",
        "C",
        "Rice 1944/45",
        _RUNNING + "test_share_of_time_below_with_a_direct_path",
    ),
    Row(
        "Rice: levels at 1 and 0.1 %",
        "-18.667 to -9.520 dB",
        "C",
        "Rice 1944/45",
        reason="the same distribution read the other way; nothing here reckons it",
    ),
    Row(
        "selection and maximum ratio, levels and gains",
        "10.205 and 11.697 dB at 1 % and so on",
        "C",
        "textbook",
        _DIVERSITY + "test_gain_at_an_outage",
    ),
    Row("the same in the running world", "10.2 and 11.7 dB", "C", "textbook", _RUNNING + "test_gain_at_one_per_cent"),
    Row(
        "outage of two at -10, -15, -20 dB",
        "9.0559e-3, 4.6788e-3 and so on",
        "C",
        "textbook",
        _DIVERSITY + "test_outage_of_two",
    ),
    Row(
        "mean gain of selection", "1.761, 2.632, 3.188 dB", "C", "textbook", _DIVERSITY + "test_mean_gain_of_selection"
    ),
    Row(
        "correlated selection",
        "four correlations",
        "C",
        "bivariate Rayleigh",
        reason="the world's branches are alike by their spacing; nothing reckons a correlated outage",
    ),
    Row(
        "the better of two at 3 Hz, -10 dB", "0.40952/s, 22.11 ms", "C", "Rice 1944/45", _THEORY + "test_better_of_two"
    ),
)
AUDIO = (
    Row(
        "full-scale sine and square",
        "0.00 and +3.01 dBFS",
        "S, second-hand; C",
        "AES17-2015, 3.12.1",
        _LEVELS + "test_full_scale_sine_and_square",
    ),
    Row("0, 4, 18, 24 dBu as volts", "0.77460 to 12.27653 V", "C", "arithmetic", _LEVELS + "test_dbu_as_volts"),
    Row("EBU R 68 alignment", "-18 dBFS is 0 dBu", "S", "EBU R 68", _LEVELS + "test_alignment"),
    Row(
        "SMPTE RP 155",
        "0 dBFS is +24 dBu",
        "C, attribution from memory",
        "SMPTE RP 155",
        reason="the outputs here are aligned by R 68",
    ),
    Row("permitted maximum", "-9 dBFS", "M", "EBU R 68, BS.645", reason="from memory"),
    Row(
        "PPM type IIa and I, VU",
        "bursts and returns",
        "S, tolerances from memory",
        "IEC 60268-10, -17",
        reason="meters here have no ballistics: the greatest sample and the mean power of a tenth of a second",
    ),
    Row("BS.1770, K-weighting, R 128", "-3.01 LKFS and so on", "C", "ITU-R BS.1770", reason=_NO_LOUDNESS),
    Row("Butterworth high-pass, four slopes", "20 magnitudes, 0.005 dB", "C", "textbook", _HIGH_PASS + "test_table"),
    Row("24 dB Linkwitz-Riley", "five magnitudes", "C", "textbook", reason="the packs' low-cuts are Butterworth"),
    Row(
        "speech spectrum",
        "25 bands, 70.03 dB in all",
        "S, second-hand; C",
        "Byrne et al., JASA 96(4), 1994, table II",
        "../simulator/test_sound.py::test_speech_spectrum_adds_up",
    ),
    Row(
        "a generator of it, +-1 dB a band",
        "100 Hz to 10 kHz",
        "S, second-hand",
        "Byrne et al. 1994",
        reason=_NO_SAMPLES,
    ),
    Row("ITU-T P.56 active level", "margin 15.9 dB", "S, second-hand", "ITU-T P.56", reason=_NO_SAMPLES),
    Row("A-weighting", "ten magnitudes", "C", "IEC 61672-1", reason="nothing here is weighted by it"),
    Row(
        "lip-sync",
        "+45/-125, +90/-185, +40/-60 ms",
        "S",
        "ITU-R BT.1359-1, EBU R 37",
        reason="delays are not planned yet",
    ),
    Row(
        "comb filter; speed of sound",
        "notches, dips; 2.914 ms/m",
        "C",
        "arithmetic",
        reason="delays are not planned yet",
    ),
)
CELLS = (
    Row("2.5 Wh at 0.25 W", "10.0 h", "C", "arithmetic", _CELLS + "test_run_time"),
    Row(
        "0.25 W at 1.5 and 0.9 V",
        "166.7, 277.8 mA",
        "C",
        "arithmetic",
        reason="the same division as the rows beside it, without resistance",
    ),
    Row(
        "3.0 and 2.4 V, 0.3 ohm, 0.6 W",
        "0.20417 A, 2.9387 V; 0.25834 A",
        "C",
        "arithmetic",
        _CELLS + "test_constant_power",
    ),
    Row("greatest power", "7.5 W", "C", "E^2 / 4R", _CELLS + "test_greatest_power"),
    Row(
        "Peukert",
        "nine values",
        "C",
        "Peukert",
        reason="it is defined for constant current, and a pack draws constant power",
    ),
    Row("nominal voltages; durations of tests", "-", "M", "IEC 60086, 61951, 61960", reason="from memory"),
    Row("voltage falls, more load is less time", "property", "-", "physics", _CELLS + "test_voltage_only_falls"),
    Row(
        "1.2 V a cell: low for alkaline, the middle for nickel",
        "qualitative",
        "-",
        "common knowledge of the trade",
        _CELLS + "test_the_same_voltage_means_less_in_an_alkaline_cell",
    ),
)
SUBJECTS = {
    "Power, noise and FM": POWER_AND_NOISE,
    "Path loss": PATH_LOSS,
    "Fading and diversity": FADING,
    "Audio": AUDIO,
    "Cells": CELLS,
}
