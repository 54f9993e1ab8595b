"""The receivers' side of the rows: what their carriers, antenna inputs and channels are set to, as columns too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import Value
from fleet.physics.decibels import mw_from_dbm
from simulator.own_settings import own_values
from simulator.rows import Row
from simulator.spectrum import SQUELCH_DBM

USUAL_BANDWIDTH_HZ = 200_000
# Assumption: a squelch in steps opens this much higher with each, from the foot of the scale.
SQUELCH_FOOT_DBM = -105.0
SQUELCH_STEP_DB = 5.0
NO_SQUELCH_DBM = -200.0
_NOWHERE_HZ = 0


class Front:
    """The receiver's side of one row, and its key. Rows of one wide carrier share what is set there.

    ``away`` says that the carrier listens elsewhere for a while and hears nobody; ``tone_dbfs`` is a test tone's level.
    """

    def __init__(self, row: Row, key: str, shared: Front | None = None) -> None:
        extras = row.receiver.extra
        self.carrier: dict[str, Value] = _carrier(row) if shared is None else shared.carrier
        self.branches: tuple[dict[str, Value], ...] = (
            tuple(_branch(row, number) for number in range(len(row.branches))) if shared is None else shared.branches
        )
        own = own_values(extras, row.channel, "channel")
        self.channel: dict[str, Value] = {"name": row.spec.part, "trim_db": 0.0, "muted": False, **own}
        self.key = key
        self.away = False
        self.tone_dbfs: float | None = None


def _carrier(row: Row) -> dict[str, Value]:
    receiver = row.receiver
    mode: dict[str, Value] = {"mode": next(iter(receiver.modes))} if receiver.modes else {}
    own = own_values(receiver.extra, row.carrier, "carrier")
    return {**own, "frequency_hz": row.spec.frequency_hz, **mode}


def _branch(row: Row, number: int) -> dict[str, Value]:
    label = tuple(row.receiver.antennas)[number]
    fed: dict[str, Value] = {"feed_powered": True} if label in row.receiver.feeds else {}
    return {**own_values(row.receiver.extra, row.branches[number], "branch"), **fed}


def fronts_of(rows: Sequence[Row], keys: Sequence[str]) -> tuple[Front, ...]:
    """The fronts of all rows; ``keys`` are those of the packs, by their seats."""
    by_carrier: dict[str, Front] = {}
    fronts = []
    for row in rows:
        front = Front(row, keys[row.seat], by_carrier.get(row.carrier))
        by_carrier.setdefault(row.carrier, front)
        fronts.append(front)
    return tuple(fronts)


@dataclass(frozen=True, slots=True)
class Listening:
    """How all rows listen, [rows]; ``input_db`` [rows, branches] is what their antenna inputs are set to add.

    ``margin_db`` is what a mode gives before frames are lost, ``noise_db`` how much more noise the bandwidth lets in.
    """

    tuned_hz: NDArray[np.int64]
    squelch_mw: NDArray[np.float64]
    margin_db: NDArray[np.float64]
    noise_db: NDArray[np.float64]
    input_db: NDArray[np.float64]


def listening_of(rows: Sequence[Row], fronts: Sequence[Front], branches: int) -> Listening:
    """How they listen as they are set now."""
    input_db = np.zeros((len(rows), branches))
    for row, front in enumerate(fronts):
        for branch, settings in enumerate(front.branches):
            input_db[row, branch] = _input_db(settings)
    tuned = [_NOWHERE_HZ if front.away else front.carrier["frequency_hz"] for front in fronts]
    bandwidths = [float(front.carrier.get("bandwidth_hz", USUAL_BANDWIDTH_HZ)) for front in fronts]
    return Listening(
        tuned_hz=np.array(tuned, dtype=np.int64),
        squelch_mw=mw_from_dbm([_squelch_dbm(row, front) for row, front in zip(rows, fronts, strict=True)]),
        margin_db=np.array([_margin_db(row, front) for row, front in zip(rows, fronts, strict=True)]),
        noise_db=10.0 * np.log10(np.array(bandwidths) / USUAL_BANDWIDTH_HZ),
        input_db=input_db,
    )


def _input_db(settings: Mapping[str, Value]) -> float:
    return float(settings.get("boost_db", 0.0)) - float(settings.get("attenuation_db", 0.0))


def _squelch_dbm(row: Row, front: Front) -> float:
    """Where the squelch opens; a digital carrier has none unless it can be set."""
    if "squelch_step" in front.carrier:
        return SQUELCH_FOOT_DBM + SQUELCH_STEP_DB * float(front.carrier["squelch_step"])
    return float(front.carrier.get("squelch_dbm", SQUELCH_DBM if row.receiver.analog else NO_SQUELCH_DBM))


def _margin_db(row: Row, front: Front) -> float:
    return row.receiver.modes.get(str(front.carrier.get("mode", "")), 0.0)
