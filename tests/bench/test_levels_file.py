"""A survey of a million lines, beside numpy's and Python's bare readers, which check nothing. Asserts no time."""

from __future__ import annotations

import csv
import os
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fleet.model.survey import Circumstances
from fleet.planning.spectrum.found import found_in
from fleet.planning.spectrum.levels_file import read_levels
from fleet.planning.spectrum.scan import scan_of_file

POINTS = 8_961
IN_FULL = bool(os.environ.get("REDPOLL_BENCH"))
LINES = 1_000_000 if IN_FULL else 20_000


def written(folder: Path) -> Path:
    """Sweeps from 470 to 694 MHz in steps of 25 kHz, of single looks at a floor of -105 dBm."""
    places = np.resize(470_000 + 25 * np.arange(POINTS), LINES)
    levels = 10.0 * np.log10(np.random.default_rng(8).exponential(1.0, LINES)) - 105.0
    rows = [f"{khz},{level:.2f}" for khz, level in zip(places.tolist(), levels.tolist(), strict=True)]
    file = folder / "evening.csv"
    file.write_text("kHz,dBm\n" + "\n".join(rows) + "\n")
    return file


def seconds(work: Callable[[], object]) -> float:
    begun_s = time.perf_counter()
    work()
    return time.perf_counter() - begun_s


def by_csv(file: Path) -> NDArray[np.float64]:
    with file.open(newline="") as opened:
        rows = list(csv.reader(opened))[1:]
    return np.array([(float(hz), float(level)) for hz, level in rows])


def test_a_million_lines(tmp_path: Path) -> None:
    file = written(tmp_path)

    def ours() -> None:
        with file.open("rb") as opened:
            assert read_levels(opened, file.name) is not None

    def whole() -> None:
        with file.open("rb") as opened:
            made = scan_of_file("evening", opened, Circumstances("House left", 0, file=file.name))
        assert made is not None
        assert len(found_in(made[0]).carriers) == 0

    took = {
        "numpy.loadtxt, no checks": seconds(lambda: np.loadtxt(file, delimiter=",", skiprows=1)),
        "csv and float, no checks": seconds(lambda: by_csv(file)),
        "ours, every line checked": seconds(ours),
        "ours, to floor and carriers": seconds(whole),
    }
    bare_s = took["numpy.loadtxt, no checks"]
    print(f"\n{LINES} lines")
    for name, took_s in took.items():
        print(f"{name:>28}  {took_s:6.2f} s  {took_s / bare_s:5.2f} of loadtxt")
