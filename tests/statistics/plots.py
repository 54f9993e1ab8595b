"""Draws the running world's statistics beside their theory, docs/pictures/world-*.svg. Run as a program.

Lines are theory by scipy and by the published formulas, points the mean of thirty seeds with three standard errors.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy import special, stats

from tests.statistics.chart import Axis, Chart, Dots, Line
from tests.statistics.estimates import crossings_per_s
from tests.statistics.running import (
    ADDING,
    BETTER,
    DIRECT_3,
    DIRECT_6,
    DIRECT_10,
    DOPPLER_HZ,
    ROW,
    SAMPLE_S,
    SEEDS,
    SPACINGS_WAVELENGTHS,
    Run,
    runs,
)

FOLDER = Path(__file__).parents[2] / "docs" / "pictures"
_LEVELS_DB = np.arange(-25.0, 5.1, 2.5)
_FINE_DB = np.linspace(-25.0, 5.0, 121)
_LEVEL = Axis("level about the mean power, dB", (-25, -20, -15, -10, -5, 0, 5))
Measure = Callable[[Run], float]


def _dot(x: float, measure: Measure) -> tuple[float, float, float]:
    each = np.array([measure(run) for run in runs()])
    return x, float(each.mean()), float(3.0 * each.std(ddof=1) / np.sqrt(len(each)))


def _log_dot(x: float, measure: Measure) -> tuple[float, float, float]:
    _, mean, error = _dot(x, measure)
    return x, float(np.log10(max(mean, 1e-6))), float(error / max(mean, 1e-6) / np.log(10.0))


def _line(name: str, across: NDArray[np.float64], up: NDArray[np.float64]) -> Line:
    return Line(name, list(zip(across.tolist(), up.tolist(), strict=True)))


def _ratio(level_db: NDArray[np.float64] | float) -> NDArray[np.float64]:
    return np.asarray(10.0 ** (np.asarray(level_db) / 10.0))


def _below(rows: slice, level_db: float) -> Measure:
    return lambda run: float(np.mean(run.power[rows, 0] < _ratio(level_db)))


def _ratio_below(rows: slice, level_db: float) -> Measure:
    return lambda run: float(np.mean(run.ratio[rows] < _ratio(level_db)))


def _crossed(level_db: float) -> Measure:
    return lambda run: crossings_per_s(run.power[BETTER, :2], float(_ratio(level_db)), SAMPLE_S)


def share_below() -> Chart:
    """How much of the time a level is undercut, without a direct path and with three strengths of it."""
    pairs = []
    for name, rows, k_db in (
        ("no direct path", BETTER, None),
        ("K 3 dB", DIRECT_3, 3.0),
        ("K 6 dB", DIRECT_6, 6.0),
        ("K 10 dB", DIRECT_10, 10.0),
    ):
        ratio = 0.0 if k_db is None else 10.0 ** (k_db / 10.0)
        theory = stats.rice(b=np.sqrt(2.0 * ratio), scale=1.0 / np.sqrt(2.0 * (ratio + 1.0))).cdf(
            np.sqrt(_ratio(_FINE_DB))
        )
        dots = [
            _log_dot(level, _below(rows, level)) for level in _LEVELS_DB if np.interp(level, _FINE_DB, theory) > 2e-3
        ]
        pairs.append((_line(name, _FINE_DB, np.log10(np.maximum(theory, 1e-4))), Dots(name, dots)))
    return Chart(
        "Share of the time below a level", _LEVEL, Axis("share of the time, power of ten", (-3, -2, -1, 0)), pairs
    )


def crossings() -> Chart:
    """How often a second a level is undercut at 3 Hz of Doppler."""
    power = _ratio(_FINE_DB)
    theory = np.sqrt(2.0 * np.pi * power) * DOPPLER_HZ * np.exp(-power)
    dots = [_dot(level, _crossed(level)) for level in _LEVELS_DB]
    return Chart(
        "Crossings of a level at 3 Hz",
        _LEVEL,
        Axis("crossings a second", (0, 1, 2, 3, 4)),
        [(_line("Rayleigh", _FINE_DB, theory), Dots("", dots))],
    )


def fade_durations() -> Chart:
    """How long fades last at 3 Hz of Doppler."""
    power = _ratio(_FINE_DB)
    theory = 1000.0 * (1.0 - np.exp(-power)) / (np.sqrt(2.0 * np.pi * power) * DOPPLER_HZ * np.exp(-power))

    def measure(level: float) -> Measure:
        return lambda run: (
            1000.0
            * float(np.mean(run.power[BETTER, :2] < _ratio(level)))
            / max(crossings_per_s(run.power[BETTER, :2], float(_ratio(level)), SAMPLE_S), 1e-9)
        )

    dots = [_log_dot(level, measure(level)) for level in _LEVELS_DB if level <= 0.0]
    return Chart(
        "How long fades last at 3 Hz",
        _LEVEL,
        Axis("milliseconds, power of ten", (0, 1, 2, 3)),
        [(_line("Rayleigh", _FINE_DB, np.log10(theory)), Dots("", dots))],
    )


def autocorrelation() -> Chart:
    """The power's likeness to itself after a delay."""
    delays_ms = np.arange(0, 401, 20)
    fine_ms = np.linspace(0.0, 400.0, 200)
    theory = special.j0(2.0 * np.pi * DOPPLER_HZ * fine_ms / 1000.0) ** 2

    def measure(steps: int) -> Measure:
        def of(run: Run) -> float:
            power = run.power[BETTER, :2] - 1.0
            return float(np.mean(power[..., : power.shape[-1] - steps] * power[..., steps:]))

        return of

    dots = [_dot(float(delay), measure(round(delay / 1000.0 / SAMPLE_S))) for delay in delays_ms]
    across = Axis("delay, ms", (0, 100, 200, 300, 400))
    return Chart(
        "Likeness of the power to itself at 3 Hz",
        across,
        Axis("correlation", (0, 0.25, 0.5, 0.75, 1)),
        [(_line("J0 squared", fine_ms, theory), Dots("", dots))],
    )


def spacing() -> Chart:
    """How alike two branches are, by the distance of their antennas."""
    fine = np.linspace(0.0, 1.2, 200)

    def measure(first: int, second: int) -> Measure:
        return lambda run: float(np.mean((run.power[ROW, first] - 1.0) * (run.power[ROW, second] - 1.0)))

    dots = [_dot(wavelengths, measure(*pair)) for wavelengths, pair in sorted(SPACINGS_WAVELENGTHS.items())]
    across = Axis("distance, wavelengths", (0, 0.25, 0.5, 0.75, 1, 1.25))
    theory = special.j0(2.0 * np.pi * fine) ** 2
    return Chart(
        "Likeness of two branches",
        across,
        Axis("correlation of powers", (0, 0.25, 0.5, 0.75, 1)),
        [(_line("J0 squared", fine, theory), Dots("", dots))],
    )


def diversity() -> Chart:
    """How much of the time a level is undercut behind the diversity of two branches."""
    power = _ratio(_FINE_DB)
    theories: tuple[tuple[str, NDArray[np.float64], Callable[[float], Measure]], ...] = (
        ("one branch", 1.0 - np.exp(-power), lambda level: _below(BETTER, level)),
        ("the better of two", (1.0 - np.exp(-power)) ** 2, lambda level: _ratio_below(BETTER, level)),
        (
            "both by their ratios",
            np.asarray(special.gammainc(2.0, power), dtype=np.float64),
            lambda level: _ratio_below(ADDING, level),
        ),
    )
    pairs = []
    for name, theory, share in theories:
        dots = [_log_dot(level, share(level)) for level in _LEVELS_DB if np.interp(level, _FINE_DB, theory) > 2e-3]
        pairs.append((_line(name, _FINE_DB, np.log10(np.maximum(theory, 1e-4))), Dots(name, dots)))
    return Chart(
        "What two branches gain",
        _LEVEL,
        Axis("share of the time, power of ten", (-3, -2, -1, 0)),
        pairs,
        names_low=True,
    )


CHARTS: dict[str, Callable[[], Chart]] = {
    "share-below": share_below,
    "crossings": crossings,
    "fade-durations": fade_durations,
    "autocorrelation": autocorrelation,
    "spacing": spacing,
    "diversity": diversity,
}


def draw(names: Sequence[str] = tuple(CHARTS)) -> None:
    """Draw these charts into the pictures' folder."""
    print(f"seeds {SEEDS[0]} to {SEEDS[-1]}")
    for name in names:
        (FOLDER / f"world-{name}.svg").write_text(CHARTS[name]().svg(), encoding="utf-8")


if __name__ == "__main__":
    draw()
