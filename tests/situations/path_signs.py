"""Signs of antennas, feeds, distributions, front ends and the air of a block: 1, 6, 8, 9."""

from __future__ import annotations

import numpy as np

from tests.situations.recording import Channel
from tests.situations.seen import Seen, median, share
from tests.situations.thresholds import (
    BLOCK_HZ,
    DEAF_BELOW_DBM,
    FEED_CURRENT_NONE_MA,
    FLOOR_FALLS_DB,
    FLOOR_RISES_DB,
    LEAKS_DOWN_DB,
    OVERLOADS_ABOVE_DBM,
    STATE_SHARE,
    STEADY_SPREAD_DB,
)

Branches = list[tuple[Channel, str]]


def branches_by_path(seen: Seen) -> dict[str, Branches]:
    """Every branch that is heard, with its channel, by the antenna it is wired to."""
    found: dict[str, Branches] = {}
    for channel in seen.channels:
        if seen.is_heard(channel):
            for branch in channel.branches:
                found.setdefault(seen.path(branch), []).append((channel, branch))
    return found


def is_deaf(seen: Seen, branch: str) -> bool:
    """Whether a branch hears its own noise alone: below the site, floor and all, without flutter."""
    spread = median(seen.now(branch, "rf_max_dbm") - seen.now(branch, "rf_min_dbm"))
    return seen.level(branch) < DEAF_BELOW_DBM and seen.floor(branch) < DEAF_BELOW_DBM and spread < STEADY_SPREAD_DB


def leaks(seen: Seen, branch: str) -> bool:
    """Whether a branch is as far down as what leaks past something without power, its floor too."""
    down_db = seen.usual(branch, "rf_dbm") - seen.level(branch)
    floor_down_db = seen.usual(branch, "floor_dbm") - seen.floor(branch)
    return LEAKS_DOWN_DB[0] <= down_db <= LEAKS_DOWN_DB[1] and floor_down_db >= FLOOR_FALLS_DB


def feed_ma(seen: Seen, path: str) -> float:
    """The current in a feed, by whoever measures it; NaN where nobody does."""
    inputs = [address for address, name in seen.recording.readings if name == "feed_ma"]
    wired = [address for address in inputs if _path_of(seen, address) == path]
    return median(seen.now(wired[0], "feed_ma")) if wired else float("nan")


def _path_of(seen: Seen, address: str) -> str:
    known = seen.recording.plan.antenna.get(address)
    if known is not None:
        return known
    device, _, label = address.partition("/input/")
    behind = [name for name, through in seen.recording.plan.behind.items() if through == device]
    return behind["abcdefgh".index(label)] if label else ""


def deaf_paths(seen: Seen) -> set[str]:
    """1: every branch of a path is deaf, or leaks without a feed current, while its carriers are heard elsewhere."""
    return {path for path, branches in branches_by_path(seen).items() if _is_deaf_path(seen, path, branches)}


def _is_deaf_path(seen: Seen, path: str, branches: Branches) -> bool:
    current_ma = feed_ma(seen, path)
    if not np.isnan(current_ma) and current_ma > FEED_CURRENT_NONE_MA:
        return False
    down = all(is_deaf(seen, branch) for _, branch in branches) or all(leaks(seen, branch) for _, branch in branches)
    others = [other for channel, _ in branches for other in channel.branches if seen.path(other) != path]
    return down and any(not is_deaf(seen, other) and not leaks(seen, other) for other in others)


def dead_distributions(seen: Seen) -> set[str]:
    """9: everything behind a distribution is down, floors and all, and it says so or says nothing any more."""
    found = set()
    by_path = branches_by_path(seen)
    for split in {through for through in seen.recording.plan.behind.values() if through}:
        behind = [each for path, each in by_path.items() if seen.recording.plan.behind[path] == split]
        branches = [branch for each in behind for _, branch in each]
        supply = seen.now(split, "supply_ok")
        silent = bool(np.isnan(supply).mean() > STATE_SHARE)
        if branches and (silent or median(supply) == 0.0) and _mostly([leaks(seen, branch) for branch in branches]):
            found.add(split)
    return found


def _mostly(flags: list[bool]) -> bool:
    return sum(flags) >= 0.7 * len(flags)


def overloaded_paths(seen: Seen) -> set[str]:
    """8: a carrier is above -18 dBm, and every carrier of that antenna says overload with its floor up."""
    found = set()
    for path, branches in branches_by_path(seen).items():
        strong = any(seen.level(branch) > OVERLOADS_ABOVE_DBM for _, branch in branches)
        overload = all(share(seen.now(branch, "overload") > 0) >= STATE_SHARE for _, branch in branches)
        risen = all(floor_up_db(seen, branch) > FLOOR_FALLS_DB for _, branch in branches)
        if strong and overload and risen:
            found.add(path)
    return found


def floor_up_db(seen: Seen, branch: str) -> float:
    """How far a floor is above what it usually was."""
    return seen.floor(branch) - seen.usual(branch, "floor_dbm")


def lost_blocks(seen: Seen) -> list[tuple[Channel, ...]]:
    """6: the floors of all carriers within one block are up on all their branches, without overload; others' aren't."""
    heard = [channel for channel in seen.channels if seen.is_heard(channel)]
    up = [channel for channel in heard if _floor_is_up(seen, channel)]
    if len(up) < 2:
        return []
    tuned = [seen.number(channel.carrier, "frequency_hz") for channel in up]
    within = max(tuned) - min(tuned) <= BLOCK_HZ[1]
    between = [
        channel
        for channel in heard
        if channel not in up and min(tuned) <= seen.number(channel.carrier, "frequency_hz") <= max(tuned)
    ]
    return [tuple(up)] if within and not between else []


def _floor_is_up(seen: Seen, channel: Channel) -> bool:
    quiet = all(share(seen.now(branch, "overload") > 0) < STATE_SHARE for branch in channel.branches)
    return quiet and all(floor_up_db(seen, branch) >= FLOOR_RISES_DB for branch in channel.branches)
