"""Levels, meters, filters, speech and delays."""

from __future__ import annotations

from tests.published.row import Row

_LEVELS, _HIGH_PASS = "test_levels.py::", "test_high_pass.py::"
_SPEECH, _DELAYS = "test_speech.py::", "test_delays.py::"
_BALLISTICS = "test_ballistics.py::"
_AES17 = "AES17-2015, 3.12.1; IEC 61606-3, as reported"
_NO_BALLISTICS = "not built: meters here take the greatest sample and the mean power of a tenth of a second"
_NO_LOUDNESS = "no use: the product judges no programme, and measures no loudness"
_BYRNE = "Byrne et al., JASA 96(4), 1994, table II, as reported"


def _high_pass(slope_db: int, magnitudes: str) -> Row:
    what = f"Butterworth high-pass, {slope_db} dB an octave, at 2, 1, 1/2, 1/4, 1/10 of its corner"
    tests = (_HIGH_PASS + "test_table", _HIGH_PASS + "test_against_scipy")
    return Row(what, f"{magnitudes} dB", "0.005 dB", "C", "textbook", tests)


LEVELS = (
    Row(
        "full-scale sine and square, rms",
        "0.0 and 3.01 dBFS",
        "0.005 dB",
        "C",
        _AES17,
        (_LEVELS + "test_full_scale_sine_and_square",),
    ),
    Row(
        "full-scale sine, rms of its samples",
        "-3.01 dB",
        "0.005 dB",
        "C",
        _AES17,
        (_LEVELS + "test_rms_of_samples_is_not_rms_in_dbfs",),
    ),
    Row(
        "0, +4, +18, +24 dBu",
        "0.77460, 1.22765, 6.15284, 12.27653 V",
        "1e-5 V",
        "C",
        "a milliwatt in 600 ohms",
        (_LEVELS + "test_dbu_as_volts",),
    ),
    Row("0 dBu", "-2.2185 dBV", "5e-5 dB", "C", "a milliwatt in 600 ohms", (_LEVELS + "test_dbu_and_dbv",)),
    Row(
        "alignment: 0 dBu; 0 dBFS",
        "-18 dBFS; +18 dBu",
        "exact",
        "S, second-hand",
        "EBU R 68, as a broadcaster's engineer notes it",
        (_LEVELS + "test_alignment",),
    ),
    Row(
        "PPM 1 to 7",
        "-30 to -6 dBFS in steps of 4",
        "exact",
        "S, second-hand",
        "EBU R 68, as a broadcaster's engineer notes it",
        reason="no use: no meter here carries that scale",
    ),
    Row(
        "reference -20 dBFS at +4 dBu: 0 dBFS",
        "+24 dBu",
        "exact",
        "C, attribution from memory",
        "SMPTE RP 155",
        reason="no use: outputs here are aligned by R 68",
    ),
    Row("permitted maximum", "-9 dBFS quasi-peak", "", "M", "EBU R 68; ITU-R BS.645", reason="from memory"),
)
METERS = (
    Row(
        "PPM type IIa, bursts of 100, 10, 5, 1.5, 0.5 ms; return",
        "0, -2, -4, -9, -17 dB; 24 dB in 2.8 s",
        "1 dB; 0.05 dB",
        "S, second-hand",
        "IEC 60268-10, as a broadcaster's engineer notes it",
        (_BALLISTICS + "test_bursts", _BALLISTICS + "test_return"),
    ),
    Row("PPM type I, bursts; return", "-1 to -15 dB; 20 dB in 1.7 s", "", "M", "IEC 60268-10", reason="from memory"),
    Row(
        "VU: 99 % in 300 ms, overshoot",
        "1 to 1.5 %",
        "10 %",
        "S, second-hand",
        "IEC 60268-17; ANSI C16.5",
        reason=_NO_BALLISTICS,
    ),
    Row(
        "one pole for 99 % in 300 ms",
        "65.14 ms",
        "0.01 ms",
        "C",
        "arithmetic",
        (_BALLISTICS + "test_one_pole_for_a_needle",),
    ),
    Row("peak meter", "none confirmed", "", "M", "IEC 60268-18", reason="no figure is confirmed"),
    Row("997 Hz at full scale in one front channel", "-3.01 LKFS", "0.02", "C", "ITU-R BS.1770", reason=_NO_LOUDNESS),
    Row(
        "the same in two; -23 dBFS in two",
        "0.00 LKFS; -23.0 LUFS",
        "0.1",
        "C",
        "ITU-R BS.1770; EBU Tech 3341",
        reason=_NO_LOUDNESS,
    ),
    Row(
        "K-weighting at 20, 38, 50, 100, 500, 997, 2000, 10000 Hz",
        "-13.275, -6.003, -3.934, -1.133, +0.042, +0.691, +3.071, +4.042 dB",
        "0.005 dB",
        "C",
        "ITU-R BS.1770",
        reason=_NO_LOUDNESS,
    ),
    Row("programme target", "-23.0 LUFS", "0.5", "M", "EBU R 128", reason="from memory"),
    Row(
        "A-weighting at 31.62, 63.10, 125.9, 251.2, 501.2, 1000, 1995, 3981, 7943, 15849 Hz",
        "-39.4, -26.2, -16.1, -8.6, -3.2, 0.0, +1.2, +1.0, -1.1, -6.6 dB",
        "0.05 dB",
        "C",
        "IEC 61672-1",
        reason="no use: no level here is weighted; noise and speech are compared in full width",
    ),
    Row(
        "active speech level: time constant, hangover, margin",
        "0.03 s, 0.2 s, 15.9 dB",
        "",
        "S, second-hand",
        "ITU-T P.56",
        reason="no use: whether somebody speaks is told from rms readings of a tenth of a second",
    ),
    Row(
        "as much silence as signal: long-term rms",
        "-3.01 dB",
        "0.005 dB",
        "C",
        "arithmetic",
        (_LEVELS + "test_half_of_silence_takes_three_decibels",),
    ),
)
FILTERS = (
    _high_pass(6, "-0.969, -3.010, -6.990, -12.304, -20.043"),
    _high_pass(12, "-0.263, -3.010, -12.304, -24.099, -40.000"),
    _high_pass(18, "-0.067, -3.010, -18.129, -36.125, -60.000"),
    _high_pass(24, "-0.017, -3.010, -24.099, -48.165, -80.000"),
    Row(
        "Linkwitz-Riley, 24 dB an octave, at 2, 1, 1/2, 1/4 of its corner",
        "-0.527, -6.021, -24.609, -48.199 dB",
        "0.005 dB",
        "C",
        "textbook",
        reason="no use: a low-cut is a Butterworth here, and nothing divides a band in two",
    ),
)
SPEECH = (
    Row(
        "spectrum in thirds of an octave, 63 to 315 Hz",
        "38.6, 43.5, 54.4, 57.7, 56.8, 60.2, 60.3, 59.0 dB",
        "exact",
        "S, second-hand",
        _BYRNE,
        (_SPEECH + "test_bands",),
    ),
    Row(
        "400 Hz to 2 kHz",
        "62.1, 62.1, 60.5, 56.8, 53.7, 53.0, 52.0, 48.7 dB",
        "exact",
        "S, second-hand",
        _BYRNE,
        (_SPEECH + "test_bands",),
    ),
    Row(
        "2.5 to 16 kHz",
        "48.1, 46.8, 45.6, 44.5, 44.3, 43.7, 43.4, 41.3, 40.7 dB",
        "exact",
        "S, second-hand",
        _BYRNE,
        (_SPEECH + "test_bands",),
    ),
    Row("all bands together", "70.03 dB SPL", "0.01 dB", "C", _BYRNE, (_SPEECH + "test_sum",)),
    Row("greatest bands", "400, 500 Hz", "exact", "S, second-hand", _BYRNE, (_SPEECH + "test_sum",)),
    Row(
        "a generator's bands from 100 Hz to 10 kHz",
        "that spectrum",
        "1 dB",
        "S, second-hand",
        _BYRNE,
        reason="not built: the simulator makes levels of sound, no samples",
    ),
)
DELAYS = (
    Row(
        "sound before and after its picture: noticed; unacceptable",
        "+45, -125 ms; +90, -185 ms",
        "exact",
        "S",
        "ITU-R BT.1359-1 (1998)",
        (_DELAYS + "test_sound_beside_its_picture",),
    ),
    Row(
        "the same, of one stage and of all",
        "+5, -15 ms; +40, -60 ms",
        "",
        "S, second-hand",
        "EBU R 37",
        reason="second-hand; the limits of BT.1359-1 judge here",
    ),
    Row(
        "first notch of a sum 0.5, 1, 2, 5 ms apart; spacing",
        "1000, 500, 250, 100 Hz",
        "exact",
        "C",
        "1 / 2 tau; 1 / tau",
        (_DELAYS + "test_first_notch_and_spacing", _DELAYS + "test_against_a_spectrum"),
    ),
    Row(
        "a copy at -3, -6, -10, -20 dB lifts a sum by",
        "4.65, 3.53, 2.39, 0.83 dB",
        "0.01 dB",
        "C",
        "arithmetic",
        (_DELAYS + "test_peak_and_dip", _DELAYS + "test_against_a_spectrum"),
    ),
    Row(
        "a copy at -3, -6, -10, -20 dB lowers it by",
        "10.69, 6.04, 3.30, 0.92 dB",
        "0.01 dB",
        "C",
        "arithmetic",
        (_DELAYS + "test_peak_and_dip", _DELAYS + "test_against_a_spectrum"),
    ),
    Row(
        "sound at 20 degrees, 343.2 m/s",
        "2.914 ms/m",
        "0.001 ms/m",
        "C",
        "arithmetic",
        (_DELAYS + "test_sound_through_air",),
    ),
)
