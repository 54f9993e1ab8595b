"""What is set on the way of the sound, as columns: gains of packs and channels, mutes, keys, microphone power."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import Value
from simulator.fronts import Front
from simulator.pack import Pack
from simulator.rows import Row, Seat
from simulator.sound import GainStructure, low_cut_gains_db
from simulator.speech import SILENT_DB

_OFF = "off"


def gains_of(
    rows: Sequence[Row], fronts: Sequence[Front], seats: Sequence[Seat], packs: Sequence[Pack]
) -> GainStructure:
    """The gain structure as everything is set now."""
    cuts = [low_cut_gains_db(int(pack.settings["low_cut_hz"])) for pack in packs]
    of_packs = [pack.settings for pack in packs]
    of_channels = [front.channel for front in fronts]
    return GainStructure(
        speech_gain_db=np.array([speech_db for speech_db, _, _ in cuts]),
        rumble_gain_db=np.array([rumble_db for _, rumble_db, _ in cuts]),
        wind_gain_db=np.array([wind_db for _, _, wind_db in cuts]),
        input_trim_db=_numbers(of_packs, "input_trim_db") - _numbers(of_packs, "attenuator_db"),
        pack_muted=np.array([bool(pack.settings["muted"]) for pack in packs]),
        trim_db=_numbers(of_channels, "trim_db"),
        channel_muted=np.array([bool(channel["muted"]) for channel in of_channels]),
        analog=np.array([row.receiver.analog for row in rows]),
        pack_key=_numbered([pack.key for pack in packs]),
        channel_key=_numbered([_key_of(front) for front in fronts]),
        starved=np.array([_starved(seat, pack) for seat, pack in zip(seats, packs, strict=True)]),
        picky=np.array([bool(front.carrier.get("tone_squelch", False)) for front in fronts]),
        tone_dbfs=np.array([SILENT_DB if front.tone_dbfs is None else front.tone_dbfs for front in fronts]),
        seat=np.array([row.seat for row in rows], dtype=np.intp),
    )


def _numbers(settings: list[dict[str, Value]], name: str) -> NDArray[np.float64]:
    return np.array([each.get(name, 0.0) for each in settings], dtype=np.float64)


def _key_of(front: Front) -> str:
    """The key that a channel decodes with: none while encryption is off there."""
    return front.key if front.carrier.get("encryption", True) else ""


def _numbered(keys: list[str]) -> NDArray[np.int64]:
    """A number for each fingerprint, which is eight hexadecimal digits; 0 for none."""
    return np.array([int(key, 16) + 1 if key else 0 for key in keys], dtype=np.int64)


def _starved(seat: Seat, pack: Pack) -> bool:
    """Whether the microphone lacks the power that it needs: phantom before a plug-on, bias for a capsule."""
    lacks_phantom = seat.spec.needs_phantom and pack.settings.get("phantom", _OFF) == _OFF
    return lacks_phantom or pack.settings.get("bias", "") == _OFF
