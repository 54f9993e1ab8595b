"""Sound from the capsule to the receiver's output: low-cut, gains, clipping, what the link does to it, meters.

Meters have no ballistics of their own: a peak is the greatest sample of its tenth of a second, an rms its mean power.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import AUDIO_STATES
from fleet.physics.decibels import sum_db
from fleet.physics.filters import high_pass_db
from fleet.physics.levels import DIGITAL_SILENCE_DBFS
from fleet.physics.links import companded_noise_db, fm_gain_db, fm_improvement_db, fm_output_snr_db
from simulator.ground_noise import Ground
from simulator.microphones import Leads
from simulator.spectrum import NOBODY, RadioBlock
from simulator.speech import CREST_DB, SILENT_DB

# The gain structure at input trim 0 and receiver trim 0: speech peaks about -15 dBFS.
SPEECH_RMS_DBFS = -27.0
MICROPHONE_NOISE_DBFS = -82.0
# Common practice: what a plug-on shows whose microphone has no phantom power.
STARVED_NOISE_DBFS = -75.0
NOISE_CREST_DB = 10.0
RUMBLE_CREST_DB = 5.0
RUB_CREST_DB = 12.0
# Assumption: how loud a click is where a sample slips.
CLICK_DBFS = -20.0
# A crackle at full scale has the level of a square wave less what is missing of it; an assumption.
CRACKLE_RMS_DBFS = -6.0
RUMBLE_HZ = 40.0
# Assumption: where most of a wind's noise lies behind a small windshield.
WIND_HZ = 60.0
LOW_CUT_ORDER = 2
FULL_SCALE_DBFS = 0.0
# Assumptions: full deviation at full scale, and the audio bandwidth that goes with it.
FULL_DEVIATION_HZ = 45_000.0
DEVIATION_RATIO = 3.0
BANDWIDTH_HZ = 200_000.0
AUDIO_HZ = 15_000.0
MUTED_BEYOND_LOSS = 0.5
OPEN = AUDIO_STATES.index("open")
MUTED = AUDIO_STATES.index("muted")
SQUELCHED = AUDIO_STATES.index("squelched_by_level")
BY_TONE = AUDIO_STATES.index("squelched_by_tone")
BY_IDENTITY = AUDIO_STATES.index("squelched_by_identity")
NO_KEY = AUDIO_STATES.index("no_key")
NO_LINK = AUDIO_STATES.index("no_link")

# Long-term average speech in thirds of an octave, Hz and dB (Byrne et al., JASA 96, 1994, table II, combined).
_SPEECH = (
    (63, 38.6),
    (80, 43.5),
    (100, 54.4),
    (125, 57.7),
    (160, 56.8),
    (200, 60.2),
    (250, 60.3),
    (315, 59.0),
    (400, 62.1),
    (500, 62.1),
    (630, 60.5),
    (800, 56.8),
    (1000, 53.7),
    (1250, 53.0),
    (1600, 52.0),
    (2000, 48.7),
    (2500, 48.1),
    (3150, 46.8),
    (4000, 45.6),
    (5000, 44.5),
    (6300, 44.3),
    (8000, 43.7),
    (10000, 43.4),
    (12500, 41.3),
    (16000, 40.7),
)
_SPEECH_HZ = np.array([frequency_hz for frequency_hz, _ in _SPEECH], dtype=np.float64)
_SPEECH_DB = np.array([level_db for _, level_db in _SPEECH])


@dataclass(frozen=True, slots=True)
class GainStructure:
    """What is set between capsule and output; muted flags are booleans, gains are in dB.

    What belongs to packs is [packs], the rest [rows]. Keys are numbers that are the same for the same key, 0 for none.
    ``starved`` packs are before a microphone without its power; ``picky`` channels open only for their own pack, whose
    place is ``seat``; ``tone_dbfs`` is a test tone at the channel's output, -200 where there is none.
    """

    speech_gain_db: NDArray[np.float64]
    rumble_gain_db: NDArray[np.float64]
    wind_gain_db: NDArray[np.float64]
    input_trim_db: NDArray[np.float64]
    pack_muted: NDArray[np.bool_]
    trim_db: NDArray[np.float64]
    channel_muted: NDArray[np.bool_]
    analog: NDArray[np.bool_]
    pack_key: NDArray[np.int64]
    channel_key: NDArray[np.int64]
    starved: NDArray[np.bool_]
    picky: NDArray[np.bool_]
    seat: NDArray[np.intp]
    tone_dbfs: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SoundBlock:
    """What all channels' meters saw in one block, [rows]; ``state`` is the number of an audio state.

    ``overloaded`` [packs] says whose input clips.
    """

    peak_dbfs: NDArray[np.float64]
    rms_dbfs: NDArray[np.float64]
    deviation_hz: NDArray[np.float64]
    damage: NDArray[np.float64]
    state: NDArray[np.uint8]
    overloaded: NDArray[np.bool_]


def low_cut_gains_db(low_cut_hz: int) -> tuple[float, float, float]:
    """What a low-cut, 12 dB an octave, takes from speech as a whole, from the rumble and from wind."""
    cut_db = high_pass_db(_SPEECH_HZ, low_cut_hz, LOW_CUT_ORDER)
    speech_db = float(sum_db(*(_SPEECH_DB + cut_db)) - sum_db(*_SPEECH_DB))
    rumble_db, wind_db = (float(high_pass_db(hz, low_cut_hz, LOW_CUT_ORDER)) for hz in (RUMBLE_HZ, WIND_HZ))
    return speech_db, rumble_db, wind_db


@dataclass(frozen=True, slots=True)
class Sources:
    """What reaches the packs in one block, [packs]: speech in dB about its usual level, noises, what the leads do.

    ``clicks`` [rows] says which receivers' outputs click.
    """

    speech_db: NDArray[np.float64]
    ground: Ground
    leads: Leads
    clicks: NDArray[np.bool_]


def hear(radio: RadioBlock, sources: Sources, gains: GainStructure) -> SoundBlock:
    """What comes out of the channels: a channel plays the pack that its carrier hears.

    A digital one plays it only with the same key.
    """
    source = np.maximum(radio.heard, 0)
    rms, peak, overloaded = _at_pack(sources, gains)
    rms, peak = rms[source], peak[source]
    deviation = np.where(radio.heard == NOBODY, np.nan, FULL_DEVIATION_HZ * 10.0 ** (peak / 20.0))
    hiss = companded_noise_db(hiss_db(radio.carrier_to_noise_db), rms)
    rms = np.where(gains.analog, sum_db(rms, np.clip(hiss, DIGITAL_SILENCE_DBFS, FULL_SCALE_DBFS)), rms)
    peak = np.where(gains.analog, np.maximum(peak, np.minimum(hiss + NOISE_CREST_DB, FULL_SCALE_DBFS)), peak)
    state = _states(radio, gains)
    quiet = state != OPEN
    peak = np.where(quiet, DIGITAL_SILENCE_DBFS, np.minimum(peak + gains.trim_db, FULL_SCALE_DBFS))
    rms = np.where(quiet, DIGITAL_SILENCE_DBFS, np.minimum(rms + gains.trim_db, FULL_SCALE_DBFS))
    clicking = sources.clicks & ~quiet
    return SoundBlock(
        peak_dbfs=np.maximum(np.where(clicking, np.maximum(peak, CLICK_DBFS), peak), gains.tone_dbfs),
        rms_dbfs=np.maximum(rms, gains.tone_dbfs),
        deviation_hz=deviation,
        damage=_damage(radio, gains),
        state=state,
        overloaded=overloaded,
    )


def hiss_db(carrier_to_noise_db: NDArray[np.float64]) -> NDArray[np.float64]:
    """Noise of FM links below full deviation, [rows], by carrier to noise in 200 kHz, [samples, rows]; powers add."""
    wider_db = fm_gain_db(DEVIATION_RATIO, BANDWIDTH_HZ, AUDIO_HZ) - fm_improvement_db(DEVIATION_RATIO)
    each_db = fm_output_snr_db(carrier_to_noise_db, DEVIATION_RATIO) + wider_db
    return np.asarray(10.0 * np.log10(np.mean(10.0 ** (-each_db / 10.0), axis=0)))


def _at_pack(
    sources: Sources, gains: GainStructure
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.bool_]]:
    """Rms and peak behind the pack's low-cut and converter, and whether the converter clips."""
    trim, leads = gains.input_trim_db, sources.leads
    speech = SPEECH_RMS_DBFS + sources.speech_db + gains.speech_gain_db + trim
    ground = sources.ground
    low = sum_db(ground.rumble_dbfs + gains.rumble_gain_db, ground.wind_dbfs + gains.wind_gain_db) + trim
    rub = ground.rub_dbfs + trim
    speech, low, rub = (np.where(gains.starved, SILENT_DB, heard) for heard in (speech, low, rub))
    noise = np.where(gains.starved, STARVED_NOISE_DBFS, MICROPHONE_NOISE_DBFS) + trim
    rms = sum_db(speech, low, rub, noise)
    peak = sum_db(speech + CREST_DB, low + RUMBLE_CREST_DB, rub + RUB_CREST_DB, noise + NOISE_CREST_DB)
    rms = np.where(leads.crackling, CRACKLE_RMS_DBFS, rms)
    peak = np.where(leads.crackling, FULL_SCALE_DBFS, peak)
    overloaded = (peak >= FULL_SCALE_DBFS) & ~leads.silent
    silent = gains.pack_muted | leads.silent
    rms = np.where(silent, DIGITAL_SILENCE_DBFS, np.clip(rms, DIGITAL_SILENCE_DBFS, FULL_SCALE_DBFS))
    peak = np.where(silent, DIGITAL_SILENCE_DBFS, np.clip(peak, DIGITAL_SILENCE_DBFS, FULL_SCALE_DBFS))
    return rms, peak, overloaded


def _states(radio: RadioBlock, gains: GainStructure) -> NDArray[np.uint8]:
    source = np.maximum(radio.heard, 0)
    locked_out = (gains.pack_key[source] != gains.channel_key) & (radio.heard != NOBODY) & ~gains.analog
    lost = np.where(gains.analog, False, (radio.loss > MUTED_BEYOND_LOSS) | (radio.heard == NOBODY))
    squelched = radio.squelched > MUTED_BEYOND_LOSS
    muted = gains.channel_muted | (gains.pack_muted[source] & (radio.heard != NOBODY))
    other = gains.picky & (radio.heard != gains.seat)
    by_identity = np.where(gains.analog, BY_TONE, BY_IDENTITY)
    states = np.where(muted, MUTED, OPEN)  # The last that is said here comes first.
    states = np.where(other, by_identity, states)
    states = np.where(squelched, SQUELCHED, states)
    states = np.where(locked_out, NO_KEY, states)
    return np.where(lost, NO_LINK, states).astype(np.uint8)


def _damage(radio: RadioBlock, gains: GainStructure) -> NDArray[np.float64]:
    """Share of the block that was concealed or muted for want of frames, or noise-switched."""
    return np.where(gains.analog, radio.squelched, radio.loss)
