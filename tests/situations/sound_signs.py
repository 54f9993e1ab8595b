"""Signs of sound: 10, 11, 12, 13, 15, 16, 17."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import AUDIO_STATES
from tests.situations.recording import Channel
from tests.situations.seen import Numbers, Seen, median, share
from tests.situations.thresholds import (
    DULLED_BY_DB,
    EXACT_SILENCE_DBFS,
    FLAT_PEAKS_WITHIN_DB,
    FLAT_SHARE,
    FULL_SCALE_DBFS,
    GONE_ABOVE_FLOOR_DB,
    LEAD_TURNS,
    QUALITY_GOOD,
    SPEECH_ABOVE_DBFS,
    SQUELCH_TIGHT_ABOVE_SITE_DB,
    STARVED_RMS_DBFS,
    STARVED_WITHIN_DB,
    STATE_SHARE,
    WRONG_PLACE_SHARE,
)

# A capsule drowns over minutes: no shorter stretch is asked.
DULLING_S = 300.0
# Lines begin and end when they do; half a second either way is nobody's mistake.
LINES_WITHIN_S = 0.5


def radio_is_good(seen: Seen, channel: Channel) -> bool:
    """Whether its link is as good as can be; an analog one by its level."""
    quality = seen.quality(channel)
    if np.isnan(quality):
        return any(seen.level(each) >= seen.floor(each) + GONE_ABOVE_FLOOR_DB for each in channel.branches)
    return quality >= QUALITY_GOOD


def state_share(seen: Seen, channel: Channel, state: str) -> float:
    """How much of the time its sound was in a state."""
    return share(seen.now(channel.address, "audio_state") == AUDIO_STATES.index(state))


def has_a_broken_lead(seen: Seen, channel: Channel) -> bool:
    """10: peaks at full scale and exact silence in turn, the radio being good."""
    peak = seen.now(channel.address, "peak_dbfs")
    loud, silent = peak >= FULL_SCALE_DBFS + seen_trim(seen, channel), peak <= EXACT_SILENCE_DBFS
    order = np.where(loud, 1, np.where(silent, -1, 0))
    order = order[order != 0]
    return int(np.count_nonzero(np.diff(order))) >= LEAD_TURNS and radio_is_good(seen, channel)


def seen_trim(seen: Seen, channel: Channel) -> float:
    """The receiver's trim, below zero at most: it takes full scale down with it."""
    trim_db = seen.number(channel.address, "trim_db")
    return 0.0 if np.isnan(trim_db) else min(0.0, trim_db)


def clips(seen: Seen, channel: Channel) -> bool:
    """12: speech whose peaks are flat below the trim, with an overloaded input."""
    peak = seen.now(channel.address, "peak_dbfs")
    speaking = peak > SPEECH_ABOVE_DBFS
    if not speaking.any() or share(peak <= EXACT_SILENCE_DBFS) > 0.0:
        return False
    flat = peak >= np.nanmax(peak) - FLAT_PEAKS_WITHIN_DB
    overload = seen.now(channel.pack, "input_overload") > 0
    return share(flat, speaking) >= FLAT_SHARE and share(overload, speaking) >= FLAT_SHARE


def has_a_wrong_key(seen: Seen, channel: Channel) -> bool:
    """13: no key, though the radio is good; the fingerprints differ."""
    own = seen.recording.told(channel.address, "key_fingerprint", seen.since_s)[-1:]
    packs = seen.recording.told(channel.pack, "key_fingerprint", seen.since_s)[-1:]
    return state_share(seen, channel, "no_key") >= STATE_SHARE and own != packs and radio_is_good(seen, channel)


def is_squelched_tight(seen: Seen, channel: Channel) -> bool:
    """16: squelched by level although a carrier is there, by a squelch far above the floor."""
    squelch_dbm = seen.number(channel.carrier, "squelch_dbm")
    tight = any(squelch_dbm > seen.floor(branch) + SQUELCH_TIGHT_ABOVE_SITE_DB for branch in channel.branches)
    return tight and state_share(seen, channel, "squelched_by_level") >= STATE_SHARE and not seen.is_gone(channel)


def has_no_phantom(seen: Seen, channel: Channel) -> bool:
    """17: steady noise and no speech behind a pack that says its phantom power is off."""
    off = seen.recording.setting(channel.pack, "phantom", seen.until_s) == "off"
    rms = seen.now(channel.address, "rms_dbfs") - _gain_db(seen, channel)
    near = np.abs(rms - STARVED_RMS_DBFS) <= STARVED_WITHIN_DB
    return off and share(near) >= STATE_SHARE and median(seen.now(channel.address, "peak_dbfs")) < SPEECH_ABOVE_DBFS


def _gain_db(seen: Seen, channel: Channel) -> float:
    """What is set between capsule and output."""
    pack_db, trim_db = seen.number(channel.pack, "input_trim_db"), seen.number(channel.address, "trim_db")
    return float(np.nan_to_num(pack_db) + np.nan_to_num(trim_db))


def grows_dull(seen: Seen, channel: Channel) -> bool:
    """11, a candidate: speech far softer at the end than at first, over minutes, whatever gain was set since."""
    whole = Seen(seen.recording, 0.0, seen.until_s)
    if seen.until_s < DULLING_S or not radio_is_good(whole, channel):
        return False
    first = _speech_rms(Seen(seen.recording, 0.0, 60.0), channel)
    last = _speech_rms(Seen(seen.recording, seen.until_s - 60.0, seen.until_s), channel)
    return first - last >= DULLED_BY_DB


def _speech_rms(seen: Seen, channel: Channel) -> float:
    speaking = seen.now(channel.address, "peak_dbfs") > SPEECH_ABOVE_DBFS
    return median(seen.now(channel.address, "rms_dbfs")[speaking]) - _gain_db(seen, channel)


def speaks_in_wrong_places(seen: Seen, channel: Channel) -> bool:
    """15, a candidate: silent in its lines, and speaking where it has none."""
    plan = seen.recording.plan
    part = str(seen.recording.setting(channel.address, "name", seen.until_s))
    lines = plan.lines.get(part, ())
    if not lines or not plan.every_s or seen.until_s - seen.since_s < plan.every_s:
        return False
    speaking = seen.now(channel.address, "peak_dbfs") > SPEECH_ABOVE_DBFS
    inside, outside = (
        _in_lines(seen.times_s, lines, plan.every_s, within) for within in (-LINES_WITHIN_S, LINES_WITHIN_S)
    )
    return share(~speaking, inside) >= WRONG_PLACE_SHARE and share(~outside, speaking) >= WRONG_PLACE_SHARE


def _in_lines(
    times_s: Numbers, lines: tuple[tuple[float, float], ...], every_s: float, wider_s: float
) -> NDArray[np.bool_]:
    within = times_s % every_s
    each = [(within >= start - wider_s) & (within <= end + wider_s) for start, end in lines]
    return np.asarray(np.any(each, axis=0))
