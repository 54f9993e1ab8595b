"""Requests as luck will have them: zones, profiles, exclusions, locks, and all else that a request can say."""

from __future__ import annotations

import numpy as np

from fleet.errors import InvalidDocument
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.request import Request

ZONES = ("House", "Quay", "Camera")


def random_request(luck: np.random.Generator) -> Request:
    """A request that holds together; what contradicts itself is drawn again."""
    while True:
        try:
            return read_request(_drawn(luck), "random.toml")
        except InvalidDocument as problem:
            assert "among themselves" in str(problem)  # noqa: PT017 - any other refusal is a mistake of this file.


def _drawn(luck: np.random.Generator) -> str:
    start_hz = 470_000_000 + 100_000 * int(luck.integers(0, 50))
    width_hz = int(luck.choice([6, 8, 12, 24])) * 1_000_000
    text = f"raster_hz = {int(luck.choice([25_000, 50_000, 100_000]))}\n"
    if luck.random() < 0.3:
        text += "[front_end]\ncarrier_dbm = -30.0\nintercept_dbm = -17.0\n"
    text += f"[[window]]\nstart_hz = {start_hz}\nstop_hz = {start_hz + width_hz}\n"
    if luck.random() < 0.5:
        text += f"[[exclusion]]\nstart_hz = {start_hz + 2_000_000}\nstop_hz = {start_hz + 2_700_000}\n"
    if luck.random() < 0.3:
        text += f'[[tuning]]\nname = "T"\nstep_hz = 125_000\nranges = [[{start_hz + 25_000}, {start_hz + width_hz}]]\n'
    text += _profiles(luck, with_ratio="front_end" in text)
    for number, zone in enumerate(ZONES):
        text += _group(luck, number, zone, start_hz, tuned="[[tuning]]" in text)
    return text + _meetings(luck, start_hz)


def _profiles(luck: np.random.Generator, *, with_ratio: bool) -> str:
    text = f'[[profile]]\nname = "analog"\nspacing_hz = {int(luck.choice([400_000, 410_000]))}\n'
    text += f"third_two_signal_hz = {int(luck.choice([200_000, 190_000]))}\n"
    text += f"third_three_signal_hz = {int(luck.choice([0, 150_000, 60_000]))}\n"
    text += f"fifth_two_signal_hz = {int(luck.choice([0, 100_000]))}\n"
    text += f'[[profile]]\nname = "digital"\nspacing_hz = {int(luck.choice([400_000, 600_000]))}\n'
    if with_ratio:
        text += f"carrier_to_interference_db = {int(luck.choice([16, 20, 24]))}\n"
    if luck.random() < 0.3:
        text += "isolation_db = 38.0\n"
    return text


def _group(luck: np.random.Generator, number: int, zone: str, start_hz: int, *, tuned: bool) -> str:
    text = f'[[group]]\nname = "G{number}"\nzone = "{zone}"\n'
    text += f'profile = "{"analog" if luck.random() < 0.5 else "digital"}"\ncount = {int(luck.integers(1, 7))}\n'
    if luck.random() < 0.3:
        text += "spares = 1\n"
    if number == 0 and luck.random() < 0.5:
        text += f"fixed_hz = [{start_hz + 1_000_000}]\n"
    if number == 1 and luck.random() < 0.3:
        text += f"locked_hz = [{start_hz + 3_000_000}]\n"
    if number == 1 and luck.random() < 0.3:
        text += f'kind = "{luck.choice(["in_ear", "talkback"])}"\naway_hz = {int(luck.choice([1, 2])) * 1_000_000}\n'
    if number == 2 and tuned:
        text += 'tuning = "T"\n'
    return text


def _meetings(luck: np.random.Generator, start_hz: int) -> str:
    text = ""
    if luck.random() < 0.5:
        text += '[[isolation]]\nzones = ["House", "Quay"]\n'
        text += f"isolation_db = {int(luck.choice([10, 25, 35]))}.0\n" if luck.random() < 0.7 else ""
    if luck.random() < 0.3:
        text += '[[isolation]]\nzones = ["Camera", "Quay"]\n'
    if luck.random() < 0.3:
        text += (
            '[[scene]]\nname = "Prologue"\ngroups = ["G0", "G1"]\n[[scene]]\nname = "Act I"\ngroups = ["G0", "G2"]\n'
        )
    if luck.random() < 0.4:
        text += f"[[protected]]\nfrequency_hz = {start_hz + 5_000_000}\nspacing_hz = 300_000\n"
        text += 'zone = "Quay"\n' if luck.random() < 0.5 else ""
        text += 'profile = "analog"\n' if luck.random() < 0.5 else ""
    return text
