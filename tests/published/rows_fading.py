"""Small-scale fading and what several branches make of it."""

from __future__ import annotations

from tests.published.row import Row

_THEORY, _RICE, _DRAWN = "test_fade_statistics.py::", "test_rice.py::", "test_fading.py::"
_SPACING, _DIVERSITY, _RUNNING = "test_spacing.py::", "test_diversity.py::", "../statistics/test_fading.py::"
_RAYLEIGH, _CLARKE = "Rice 1944/45", "Clarke 1968; Jakes 1974"
_WORKED = "Rappaport, worked examples"
_AT_THREE_HERTZ = (
    _THEORY + "test_table_at_three_hertz",
    _RUNNING + "test_level_crossing_rate",
    _RUNNING + "test_average_fade_duration",
)


def _rice(k_db: int, shares: str, levels: str) -> tuple[Row, Row]:
    below = f"Rice, K = {k_db} dB: share below -3, -6, -10, -20 dB"
    tests = (
        _RICE + "test_share_below",
        _DRAWN + "test_rice_distribution",
        _RUNNING + "test_share_of_time_below_with_a_direct_path",
    )
    level = f"Rice, K = {k_db} dB: levels at 1 and 0.1 %"
    return (
        Row(below, shares, "1e-4 relative", "C", _RAYLEIGH, tests if k_db else tests[:2]),
        Row(level, f"{levels} dB", "0.0006 dB", "C", _RAYLEIGH, (_RICE + "test_level_at_a_share",)),
    )


FADING = (
    Row(
        "Rayleigh: share below 0, -3, -10, -20, -30 dB about the mean power",
        "0.63212, 0.39419, 0.095163, 0.0099502, 9.9950e-4",
        "1e-4 relative",
        "C",
        _RAYLEIGH,
        (
            _THEORY + "test_table_at_three_hertz",
            _DRAWN + "test_rayleigh_distribution",
            _RUNNING + "test_share_of_time_below",
        ),
    ),
    Row(
        "Rayleigh: median about the mean power",
        "-1.5917 dB",
        "0.001 dB",
        "C",
        _RAYLEIGH,
        (_THEORY + "test_median", _DRAWN + "test_rayleigh_median"),
    ),
    Row(
        "Rayleigh: mean envelope about the rms",
        "-1.0491 dB",
        "0.001 dB",
        "C",
        _RAYLEIGH,
        reason="no use: meters show powers, and nothing takes the mean of an envelope",
    ),
    Row(
        "Rayleigh: level exceeded 99, 99.9, 90 % of the time",
        "-19.978, -29.998, -9.773 dB",
        "0.002 dB",
        "C",
        _RAYLEIGH,
        (_THEORY + "test_level_by_share",),
    ),
    Row(
        "Doppler shift of 1 m/s at 600 MHz; speed for 3 Hz",
        "2.0014 Hz; 1.4990 m/s",
        "1e-3",
        "C",
        "speed over wavelength",
        (_DRAWN + "test_doppler",),
    ),
    Row(
        "likeness of fields at 0.1, 0.25, 0.5, 1 wavelength",
        "0.90371, 0.47200, -0.30424, 0.22028",
        "1e-5",
        "C",
        _CLARKE,
        (_SPACING + "test_fields",),
    ),
    Row(
        "zeros of it, in wavelengths",
        "0.38274, 0.87855, 1.37728",
        "1e-5",
        "C",
        _CLARKE,
        (_SPACING + "test_where_fields_are_unlike",),
    ),
    Row(
        "likeness of powers at 0.25, 0.5 wavelengths; a half at",
        "0.2228, 0.0926; 0.1793",
        "1e-4",
        "C",
        _CLARKE,
        (_SPACING + "test_powers", _RUNNING + "test_correlation_of_branches_by_spacing"),
    ),
    Row(
        "0.3827 wavelengths at 500, 600, 650 MHz",
        "229.5, 191.2, 176.5 mm",
        "0.1 mm",
        "C",
        _CLARKE,
        (_SPACING + "test_least_spacing_of_unlike_antennas",),
    ),
    Row(
        "likeness of powers over time, J0 squared by scipy",
        "no table",
        "",
        "C",
        _CLARKE,
        (_DRAWN + "test_field_forgets_as_a_bessel_function", _RUNNING + "test_autocorrelation_in_time"),
    ),
    Row(
        "crossings a second at 3 Hz, 0, -3, -10, -20, -30 dB",
        "2.7664, 3.2251, 2.1517, 0.74451, 0.2376",
        "2e-4 relative",
        "C",
        _RAYLEIGH,
        _AT_THREE_HERTZ[:2],
    ),
    Row(
        "mean fade at 3 Hz, 0, -3, -10, -20, -30 dB",
        "228.50, 122.22, 44.227, 13.365, 4.207 ms",
        "2e-4 relative",
        "C",
        _RAYLEIGH,
        (_AT_THREE_HERTZ[0], _AT_THREE_HERTZ[2]),
    ),
    Row(
        "greatest crossing rate, at rho = 1 / sqrt 2",
        "1.0750 fd",
        "1e-4",
        "C",
        _RAYLEIGH,
        (_THEORY + "test_greatest_rate",),
    ),
    Row(
        "rho 1 and 20 Hz",
        "18.44 crossings a second",
        "0.01",
        "C, attribution from memory",
        _WORKED,
        (_THEORY + "test_worked_examples",),
    ),
    Row(
        "200 Hz, rho 0.01, 0.1, 1: mean fade",
        "19.95 us, 200.5 us, 3.427 ms",
        "1e-3 relative",
        "C, attribution from memory",
        _WORKED,
        (_THEORY + "test_worked_examples",),
    ),
    Row(
        "20 Hz, rho 0.707: mean fade",
        "18.30 ms",
        "1e-3 relative",
        "C, attribution from memory",
        _WORKED,
        (_THEORY + "test_worked_examples",),
    ),
    *_rice(0, "0.34648, 0.18152, 0.073346, 0.0073573", "-18.667, -28.667"),
    *_rice(3, "0.29126, 0.13164, 0.046207, 0.0041330", "-16.246, -26.115"),
    *_rice(6, "0.21422, 0.068904, 0.016465, 9.9914e-4", "-11.546, -19.996"),
    *_rice(10, "0.09985, 0.011433, 7.387e-4, 7.791e-6", "-6.184, -9.520"),
)
_GAINS = (_DIVERSITY + "test_gain_at_an_outage",)
_GAINS_AT_ONE = (*_GAINS, _RUNNING + "test_gain_at_one_per_cent")
_LEVELS = (_DIVERSITY + "test_level_at_an_outage",)
_WITHIN = "0.005 dB"
_TEXTBOOK = "textbook: independent Rayleigh branches of equal mean"
DIVERSITY = (
    Row(
        "two branches at 10 %: level, the better one and both added",
        "-4.201, -2.742 dB",
        _WITHIN,
        "C",
        _TEXTBOOK,
        _LEVELS,
    ),
    Row("two branches at 1 %: the same", "-9.773, -8.281 dB", _WITHIN, "C", _TEXTBOOK, _LEVELS),
    Row("two branches at 0.1 %: the same", "-14.930, -13.429 dB", _WITHIN, "C", _TEXTBOOK, _LEVELS),
    Row("two branches at 10 %: gain over one", "5.573, 7.031 dB", _WITHIN, "C", _TEXTBOOK, _GAINS),
    Row("two branches at 1 %: gain over one", "10.205, 11.697 dB", _WITHIN, "C", _TEXTBOOK, _GAINS_AT_ONE),
    Row("two branches at 0.1 %: gain over one", "15.067, 16.569 dB", _WITHIN, "C", _TEXTBOOK, _GAINS),
    Row("four branches at 10 %: gain over one", "8.945, 12.191 dB", _WITHIN, "C", _TEXTBOOK, _GAINS),
    Row("four branches at 1 %: gain over one", "15.778, 19.134 dB", _WITHIN, "C", _TEXTBOOK, _GAINS),
    Row("four branches at 0.1 %: gain over one", "22.916, 26.318 dB", _WITHIN, "C", _TEXTBOOK, _GAINS),
    Row(
        "the better of two: outage at -10, -15, -20 dB",
        "9.0559e-3, 9.6895e-4, 9.9006e-5",
        "1e-4 relative",
        "C",
        _TEXTBOOK,
        (_DIVERSITY + "test_outage_of_two", _RUNNING + "test_outage_ten_decibels_below_the_mean"),
    ),
    Row(
        "two added: outage at -10, -15, -20 dB",
        "4.6788e-3, 4.8958e-4, 4.9668e-5",
        "1e-4 relative",
        "C",
        _TEXTBOOK,
        (_DIVERSITY + "test_outage_of_two", _RUNNING + "test_outage_ten_decibels_below_the_mean"),
    ),
    Row(
        "mean gain of the best of 2, 3, 4",
        "1.761, 2.632, 3.188 dB",
        "0.001 dB",
        "C",
        _TEXTBOOK,
        (_DIVERSITY + "test_mean_gain_of_selection",),
    ),
    Row(
        "one branch and the best of four, 10 dB below the mean",
        "0.0952, 8.20e-5",
        "5e-5, 5e-8",
        "C, attribution from memory",
        _WORKED,
        (_DIVERSITY + "test_four_branches_by_a_textbook",),
    ),
    Row(
        "the better of two whose powers are alike by 0.3, 0.5, 0.7, 0.9: outage at -10 dB",
        "0.012423, 0.016506, 0.024528, 0.046791",
        "1e-4 relative",
        "C",
        "bivariate Rayleigh distribution, integrated",
        (_DIVERSITY + "test_branches_that_are_alike",),
    ),
    Row(
        "the same: level at 1 %",
        "-10.504, -11.185, -12.200, -14.274 dB",
        "0.005 dB",
        "C",
        "bivariate Rayleigh distribution, integrated",
        (_DIVERSITY + "test_branches_that_are_alike",),
    ),
    Row(
        "the better of two at 3 Hz and -10 dB: crossings a second, mean fade",
        "0.40952; 22.11 ms",
        "1e-4 relative; 0.01 ms",
        "C",
        _RAYLEIGH,
        (_THEORY + "test_better_of_two",),
    ),
)
