"""The signatures of the trade written by hand, piece by piece, onto an evening that was healthy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import AUDIO_STATES, GOODBYES
from tests.situations.made_up import (
    FERRYMAN,
    FIDDLER,
    KEEPER,
    ONSET_S,
    PILOT,
    RACKS,
    evening,
    level,
    put,
    silence,
    times_s,
    vanish,
)
from tests.situations.recording import Channel, Recording

HOUSE = (KEEPER, FERRYMAN, PILOT)
RIGHT = tuple(each.branches[1] for each in HOUSE)
LEFT = tuple(each.branches[0] for each in HOUSE)
EVERY = (*LEFT, *RIGHT)
Edit = Callable[[Recording], None]


@dataclass(frozen=True, slots=True)
class Signature:
    """Where a situation is to be found, and the pieces of evidence that only together say so."""

    places: tuple[str, ...]
    evidence: dict[str, Edit]
    seconds: float = 60.0

    def without(self, left_out: str = "") -> Recording:
        """An evening with all of it but one piece."""
        made = evening(self.seconds)
        for words, edit in self.evidence.items():
            if words != left_out:
                edit(made)
        return made


def reads(name: str, value: float, *addresses: str) -> Edit:
    """A reading that is another one from the onset on."""

    def edit(made: Recording) -> None:
        for address in addresses:
            put(made, address, name, value)

    return edit


def lies(level_dbm: float, spread_db: float, *branches: str) -> Edit:
    """Levels that are others."""

    def edit(made: Recording) -> None:
        for branch in branches:
            level(made, branch, level_dbm, spread_db)

    return edit


def gone(each: Channel) -> Edit:
    """A carrier that isn't there."""
    return lambda made: vanish(made, each)


def says(each: Channel, state: str) -> Edit:
    """A state of its sound."""
    return reads("audio_state", float(AUDIO_STATES.index(state)), each.address)


def leaves(each: Channel, word: str) -> Edit:
    """A goodbye."""
    return reads("goodbye", float(GOODBYES.index(word)), each.pack)


def sets(address: str, name: str, value: int | str) -> Edit:
    """A setting that is another one from the onset on."""
    return lambda made: made.settings[address, name].append((ONSET_S, value))


def tells(address: str, name: str, *values: str | int) -> Edit:
    """Words told one after the other, a second apart."""
    return lambda made: made.exact[address, name].extend((ONSET_S + 6.0 + i, value) for i, value in enumerate(values))


def _by_turns(made: Recording) -> NDArray[np.bool_]:
    return np.asarray(times_s(made) % 8.0 < 4.0)


def _near_by_turns(each: Channel) -> Edit:
    return lambda made: level(made, each.branches[0], np.where(_by_turns(made), -22.0, -55.0))


def _suffers_by_turns(made: Recording) -> None:
    put(made, KEEPER.carrier, "link_quality", np.where(_by_turns(made), 0.5, 1.0))


def _peaks_by_turns(second: int, peak_dbfs: float) -> Edit:
    def edit(made: Recording) -> None:
        usual = made.readings[KEEPER.address, "peak_dbfs"]
        put(made, KEEPER.address, "peak_dbfs", np.where(times_s(made) // 1.0 % 4 == second, peak_dbfs, usual))

    return edit


def _slips(made: Recording) -> None:
    put(made, "house-1", "slip_count", np.maximum(0.0, np.floor((times_s(made) - ONSET_S) / 2.0)))


def _dulls(made: Recording) -> None:
    usual = made.readings[KEEPER.address, "rms_dbfs"]
    put(made, KEEPER.address, "rms_dbfs", usual - 12.0 * times_s(made) / times_s(made)[-1], 0.0)


def _flat_peaks(made: Recording) -> None:
    usual = made.readings[KEEPER.address, "peak_dbfs"]
    put(made, KEEPER.address, "peak_dbfs", np.where(usual > -50.0, -8.0, usual))


def _speaks_as(each: Channel, other: Channel) -> Edit:
    usual = evening().readings[other.address, "peak_dbfs"]
    return lambda made: put(made, each.address, "peak_dbfs", usual)


def _is_silent(device: str) -> Edit:
    return lambda made: silence(made, device, ONSET_S)


SIGNATURES: dict[int, Signature] = {
    1: Signature(
        ("House right",),
        {
            "levels at own noise": lies(-115.0, 1.0, *RIGHT[1:]),
            "the last level, too": lies(-115.0, 1.0, RIGHT[0]),
            "floors below the site": reads("floor_dbm", -115.0, *RIGHT),
            "no feed current": reads("feed_ma", 0.0, "house-split/input/b"),
        },
    ),
    2: Signature((KEEPER.carrier,), {"gone": gone(KEEPER), "goodbye": leaves(KEEPER, "cells")}),
    3: Signature((KEEPER.carrier,), {"gone": gone(KEEPER), "goodbye": leaves(KEEPER, "standby")}),
    4: Signature(
        (KEEPER.carrier,),
        {
            "one branch sunk": lies(-90.0, 5.0, KEEPER.branches[0]),
            "the other, too": lies(-91.0, 5.0, KEEPER.branches[1]),
            "quality follows": reads("link_quality", 0.5, KEEPER.carrier),
        },
    ),
    5: Signature(
        (KEEPER.carrier,),
        {"foreign": reads("foreign", 1.0, KEEPER.carrier), "quality": reads("link_quality", 0.4, KEEPER.carrier)},
    ),
    6: Signature(
        (KEEPER.carrier,),
        {
            "floors at the edges up": reads("floor_dbm", -80.0, *KEEPER.branches, *PILOT.branches),
            "the floor between up": reads("floor_dbm", -80.0, *FERRYMAN.branches),
        },
    ),
    7: Signature(
        (KEEPER.carrier,),
        {
            "one is near": _near_by_turns(FERRYMAN),
            "another is near": _near_by_turns(PILOT),
            "quality dips then": _suffers_by_turns,
        },
    ),
    8: Signature(
        ("House left",),
        {
            "one is far too strong": lies(-12.0, 5.0, LEFT[0]),
            "overload": reads("overload", 1.0, *LEFT),
            "floors up": reads("floor_dbm", -95.0, *LEFT),
        },
    ),
    9: Signature(
        ("house-split",),
        {
            "levels 25 dB down": lies(-80.0, 5.0, *EVERY),
            "floors fall": reads("floor_dbm", -112.0, *EVERY),
            "no supply": reads("supply_ok", 0.0, "house-split"),
        },
    ),
    10: Signature(
        (KEEPER.address,), {"full scale": _peaks_by_turns(1, 0.0), "exact silence": _peaks_by_turns(3, -144.0)}
    ),
    11: Signature((KEEPER.address,), {"rms falls": _dulls}, seconds=400.0),
    12: Signature(
        (KEEPER.address,),
        {"flat peaks": _flat_peaks, "input overload": reads("input_overload", 1.0, KEEPER.pack)},
    ),
    13: Signature(
        (KEEPER.address,),
        {"no key": says(KEEPER, "no_key"), "fingerprints": tells(KEEPER.address, "key_fingerprint", "another key")},
    ),
    14: Signature(
        (KEEPER.carrier,),
        {
            "beating": lies(-47.0, 9.0, *KEEPER.branches),
            "quality": reads("link_quality", 0.3, KEEPER.carrier),
            "identity alternates": tells(KEEPER.address, "identity", PILOT.pack, KEEPER.pack, PILOT.pack),
        },
    ),
    15: Signature(
        (KEEPER.address, FERRYMAN.address),
        {"one": _speaks_as(KEEPER, FERRYMAN), "the other": _speaks_as(FERRYMAN, KEEPER)},
    ),
    16: Signature(
        (FIDDLER.address,),
        {
            "weak, but there": lies(-88.0, 5.0, *FIDDLER.branches),
            "squelch set high": sets(FIDDLER.carrier, "squelch_dbm", -80),
            "squelched": says(FIDDLER, "squelched_by_level"),
        },
    ),
    17: Signature(
        (KEEPER.address,),
        {
            "phantom off": sets(KEEPER.pack, "phantom", "off"),
            "steady noise": reads("rms_dbfs", -75.0, KEEPER.address),
            "no speech": reads("peak_dbfs", -65.0, KEEPER.address),
        },
    ),
    18: Signature(("House rack",), {"slips": _slips, "clock off": reads("clock_error_ppm", 10.0, "house-1")}),
    19: Signature(
        ("House rack",), {device: _is_silent(device) for device, rack in RACKS.items() if rack == "House rack"}
    ),
    20: Signature(
        (KEEPER.carrier,), {"a command": sets(KEEPER.carrier, "frequency_hz", 558_100_000), "gone": gone(KEEPER)}
    ),
}
# Pieces that may be missing: what is left still says what it was.
SPARE_EVIDENCE = {(16, "weak, but there"), (17, "no speech")}
