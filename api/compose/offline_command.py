"""The command ``redpoll offline``: its words, its progress, its report."""

from __future__ import annotations

import argparse
import json
import sys
from dataclasses import asdict

from api.compose.offline import OfflineOrder, OfflineReport, Progress, run_offline
from api.compose.weather import weather_of

EXIT_GOOD = 0
EXIT_FAILED = 1
_EVERY_REAL_S = 1.0


class ProgressLine:
    """Progress on standard error, once a second of real time at the most."""

    def __init__(self) -> None:
        self._told_s = 0.0

    def __call__(self, progress: Progress) -> None:
        """Tell how far it is."""
        if progress.real_s - self._told_s < _EVERY_REAL_S:
            return
        self._told_s = progress.real_s
        speed = progress.simulated_s / progress.real_s
        left_s = (progress.of_s - progress.simulated_s) / speed
        minutes, of_minutes = progress.simulated_s / 60.0, progress.of_s / 60.0
        words = f"{minutes:.1f} of {of_minutes:g} minutes, {speed:.1f} times real time, {left_s:.0f} s to go"
        sys.stderr.write(f"redpoll: {words}; Ctrl-C keeps what there is\n")
        sys.stderr.flush()


def offline(options: argparse.Namespace) -> int:
    """Run the command; returns the exit code."""
    weather = weather_of(options.weather)
    order = OfflineOrder(options.scenario, options.seed, options.minutes, options.journal, weather)
    told = options.progress or sys.stderr.isatty()
    report = run_offline(order, ProgressLine() if told else _silent)
    sys.stdout.write(json.dumps(asdict(report)) + "\n" if options.json else in_words(order, report))
    for problem in report.problems:
        sys.stderr.write(f"redpoll: could not be done: {problem}\n")
    return EXIT_FAILED if report.problems else EXIT_GOOD


def _silent(progress: Progress) -> None:
    """Nobody looks."""
    del progress


def in_words(order: OfflineOrder, report: OfflineReport) -> str:
    """The report as it is printed."""
    early = " (stopped early)" if report.stopped else ""
    lines = [
        f"SIMULATED: {order.scenario}, seed {order.seed}",
        f"{report.simulated_minutes:.2f} minutes simulated{early}, {report.times_real_time:.1f} times real time",
        *(f"{count:>8}  {kind}" for kind, count in report.events.items()),
        f"SHA-256 of the journal: {report.sha256}",
    ]
    return "\n".join([*lines, f"kept in {order.journal}\n" if order.journal else ""])
