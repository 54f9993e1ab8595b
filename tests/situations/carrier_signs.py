"""Signs of one carrier and its pack: 2, 3, 4, 5, 7, 14, 20."""

from __future__ import annotations

from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import GOODBYES
from tests.situations.path_signs import is_deaf
from tests.situations.recording import Channel
from tests.situations.seen import Seen, median, share
from tests.situations.thresholds import (
    BEATING_QUALITY,
    BEATING_SHARE,
    BEATING_SPREAD_DB,
    GONE_ABOVE_FLOOR_DB,
    GONE_WITHIN_S,
    LEVEL_NORMAL_DBM,
    QUALITY_GOOD,
    QUALITY_HARMED,
    STATE_SHARE,
    STRONG_TOGETHER_DBM,
    SUNK_BELOW_DBM,
)

# A product is heard by a carrier as near as this.
PRODUCT_WITHIN_HZ = 100_000
# A command counts for what happens as soon after it as this.
AFTER_COMMAND_S = 4.0
HEALTHY_FRACTION = 0.1


def goodbye(seen: Seen, channel: Channel) -> str:
    """How its pack took its leave, as last told."""
    told = seen.now(channel.pack, "goodbye")
    heard = told[~np.isnan(told)]
    return GOODBYES[int(heard[-1])] if heard.size else "none"


def may_sleep(seen: Seen, channel: Channel) -> bool:
    """Whether the plan lets its pack sleep now."""
    sleeps = seen.recording.plan.sleeps
    return any(pack == channel.pack and start <= seen.until_s <= end for pack, start, end in sleeps)


def is_half_retuned(seen: Seen, channel: Channel) -> bool:
    """20: gone since a command changed its frequency, and its pack last said another one."""
    told = [hz for hz in seen.recording.told(channel.pack, "reported_frequency_hz", 0.0) if hz is not None]
    changes = seen.recording.settings.get((channel.carrier, "frequency_hz"), [])[1:]
    recent = any(at_s <= seen.until_s and _went_then(seen, channel, at_s) for at_s, _ in changes)
    other = bool(told) and told[-1] != seen.recording.setting(channel.carrier, "frequency_hz", seen.until_s)
    return seen.is_gone(channel) and recent and other


def _went_then(seen: Seen, channel: Channel, at_s: float) -> bool:
    before = Seen(seen.recording, max(0.0, at_s - AFTER_COMMAND_S), at_s)
    after = Seen(seen.recording, at_s + GONE_WITHIN_S, at_s + AFTER_COMMAND_S)
    return not before.is_gone(channel) and after.is_gone(channel)


def is_asleep_unplanned(seen: Seen, channel: Channel) -> bool:
    """3: gone with a goodbye that says standby, its cells healthy, in a part with lines that isn't planned asleep."""
    part = str(seen.recording.setting(channel.address, "name", seen.until_s))
    if not seen.recording.plan.lines.get(part):
        return False
    fraction = median(seen.now(channel.pack, "battery_fraction"))
    healthy = np.isnan(fraction) or fraction > HEALTHY_FRACTION
    return seen.is_gone(channel) and goodbye(seen, channel) == "standby" and healthy and not may_sleep(seen, channel)


def has_dead_cells(seen: Seen, channel: Channel) -> bool:
    """2: gone at once with a goodbye for want of cells, or without one after they had sunk."""
    if not seen.is_gone(channel):
        return False
    if goodbye(seen, channel) == "cells":
        return True
    volts = seen.recording.reading(channel.pack, "battery_v")
    heard = volts[~np.isnan(volts)]
    return goodbye(seen, channel) == "none" and bool(heard.size) and heard[-1] < 0.95 * heard[0]


def is_out_of_zone(seen: Seen, channel: Channel) -> bool:
    """4: still there on the branches that hear, but sunk, and its quality with it where it has one."""
    branches = [branch for branch in channel.branches if not is_deaf(seen, branch)]
    if not branches or goodbye(seen, channel) != "none":
        return False
    sunk = all(seen.level(branch) < SUNK_BELOW_DBM for branch in branches)
    there = any(seen.level(branch) >= seen.floor(branch) + GONE_ABOVE_FLOOR_DB / 2 for branch in branches)
    return sunk and there and _is_harmed(seen, channel, branches) and _sank(seen, channel)


def _is_harmed(seen: Seen, channel: Channel, branches: list[str]) -> bool:
    """By its quality; an analog one by lying below its knee, half as far again above the floor as one that has gone."""
    quality = seen.quality(channel)
    if not np.isnan(quality):
        return quality < QUALITY_HARMED
    return all(seen.level(branch) < seen.floor(branch) + 1.5 * GONE_ABOVE_FLOOR_DB for branch in branches)


def _sank(seen: Seen, channel: Channel) -> bool:
    """Whether it was good once and is low now; how fast it sank is not looked at."""
    level = Seen(seen.recording, 0.0, seen.until_s).best(channel)
    normal, low = np.flatnonzero(level >= LEVEL_NORMAL_DBM), np.flatnonzero(level < SUNK_BELOW_DBM)
    return bool(normal.size and low.size)


def is_beating(seen: Seen, channel: Channel) -> bool:
    """14: least and most within a frame far apart most of the time, poor quality, more than one identity."""
    branch = max(channel.branches, key=seen.level)
    spread = seen.now(branch, "rf_max_dbm") - seen.now(branch, "rf_min_dbm")
    identities = set(seen.recording.told(channel.address, "identity", seen.since_s)) - {None}
    beating = share(spread >= BEATING_SPREAD_DB) >= BEATING_SHARE
    return beating and median(seen.now(channel.carrier, "link_quality")) <= BEATING_QUALITY and len(identities) > 1


def has_a_stranger(seen: Seen, channel: Channel) -> bool:
    """5: levels as ever, poor quality, and something foreign on its frequency that is no pack of ours."""
    foreign = share(seen.now(channel.carrier, "foreign") > 0) >= STATE_SHARE
    return foreign and seen.quality(channel) < QUALITY_HARMED and median(seen.best(channel)) > LEVEL_NORMAL_DBM


def makers_of_a_product(seen: Seen, channel: Channel) -> tuple[Channel, ...]:
    """7: the carriers whose product falls on this one, which suffers while they are strong together and only then."""
    own_hz = seen.number(channel.carrier, "frequency_hz")
    others = [other for other in seen.channels if other.carrier != channel.carrier and seen.is_heard(other)]
    whole = Seen(seen.recording, 0.0, seen.until_s)
    for twice, once in permutations(others, 2):
        product_hz = 2 * seen.number(twice.carrier, "frequency_hz") - seen.number(once.carrier, "frequency_hz")
        if abs(product_hz - own_hz) <= PRODUCT_WITHIN_HZ and _suffers_of(seen, whole, channel, (twice, once)):
            return twice, once
    return ()


def _suffers_of(seen: Seen, whole: Seen, channel: Channel, makers: tuple[Channel, Channel]) -> bool:
    together_now = _strong_together(seen, makers)
    quality = seen.now(channel.carrier, "link_quality")
    if together_now.sum() < 5 or not np.nanmean(quality[together_now]) < QUALITY_HARMED:
        return False
    apart = ~_strong_together(whole, makers)
    return bool(np.nanmedian(whole.now(channel.carrier, "link_quality")[apart]) >= QUALITY_GOOD)


def _strong_together(seen: Seen, makers: tuple[Channel, Channel]) -> NDArray[np.bool_]:
    each = [seen.best(maker) > STRONG_TOGETHER_DBM for maker in makers]
    return np.asarray(np.all(each, axis=0))
