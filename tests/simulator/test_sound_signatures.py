"""Signatures of sound that rest on the gain structure: what clips behind a trim, a microphone without its power."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import AUDIO_STATES
from fleet.physics.levels import DIGITAL_SILENCE_DBFS
from simulator.scenario_checks import load
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.desk import Desk
from tests.simulator.sink import desk_of, throw
from tests.simulator.small_stage import channel_text, fleet_of, receiver_text, scenario

CHANNEL, PACK = "rack-1/channel/1", "pack/p1"
# By trial: so little that fades at the far end of the stage cost now some frames, now nearly all.
FAINT_MW = 0.3


def _series(desk: Desk, address: str, reading: str, frames: int) -> NDArray[np.float64]:
    return np.array(desk.series(address, reading)[-frames:], dtype=float)


def _desk(walk: str = "Round") -> Desk:
    text = scenario(receiver_text("rack-1", channel_text("p1", talk=1.0, walk=walk)))
    return desk_of(fleet_of(text), "rack-1")


def test_a_trim_hides_what_clips_at_the_pack() -> None:
    """Situation 12: peaks lie flat at -8 dBFS behind a trim of -8 dB, and only the pack says that its input clips."""
    desk = _desk()
    desk.write(CHANNEL, "c1", trim_db=-8.0)
    throw(desk, "change_source", pack=PACK, gain_db=20.0)
    desk.advance(30.0)
    clipped = _series(desk, PACK, "input_overload", 250) > 0.0
    peaks = _series(desk, CHANNEL, "peak_dbfs", 250)
    assert np.count_nonzero(clipped) > 50
    assert np.all(peaks[clipped] == -8.0)
    assert peaks.max() == -8.0


def test_a_microphone_without_phantom_power_leaves_a_steady_noise() -> None:
    """Situation 17, common practice: noise at -75 dBFS that neither speech nor time moves."""
    sink: VirtualFleet = fleet_of(load("kitchen-sink"))
    desk = desk_of(sink, "sink-single-1")
    channel = "sink-single-1/channel/1"
    desk.write("pack/s11", "c1", phantom="off")
    throw(desk, "hand", address="pack/s11")
    desk.advance(25.0)
    rms = _series(desk, channel, "rms_dbfs", 200)
    spoken = _series(desk, channel, "audio_state", 200) == AUDIO_STATES.index("open")
    assert np.count_nonzero(spoken) > 150
    assert np.all(np.abs(rms[spoken] - -75.0) < 0.5)


def test_short_losses_are_damage_and_long_ones_mute() -> None:
    """An assumption of ours: up to half of a tenth of a second is concealed, beyond that the output is mute."""
    desk = _desk("Far")
    desk.fleet.world.packs[0].settings["rf_power_mw"] = FAINT_MW
    desk.fleet.world.touch()
    desk.advance(60.0)
    damage = _series(desk, CHANNEL, "audio_damage_fraction", 580)
    state = _series(desk, CHANNEL, "audio_state", 580)
    peaks = _series(desk, CHANNEL, "peak_dbfs", 580)
    concealed, lost = (damage > 0.0) & (damage < 0.499), damage > 0.501
    assert np.count_nonzero(concealed) > 20
    assert np.count_nonzero(lost) > 20
    assert np.all(state[concealed] == AUDIO_STATES.index("open"))
    assert np.all(state[lost] == AUDIO_STATES.index("no_link"))
    assert np.all(peaks[lost] == DIGITAL_SILENCE_DBFS)
    assert peaks[concealed].max() > -40.0
