"""The numbers that the operator's guide calls fixed are those of the code."""

from __future__ import annotations

import pytest

from fleet.adapters.supervisor import SUPERVISOR_LIMITS
from fleet.adapters.watch import WATCH_LIMITS
from fleet.diagnosis.shared import CLOCK_WITHIN_US, FEED_WITHIN_US, TOGETHER_WITHIN_US
from fleet.readings import UNCERTAIN_AFTER_US, UNCERTAIN_INTERVALS
from fleet.recent_sample import DEAF_BELOW_DB, SPEECH_FROM_DBFS, SPEECH_FROM_DBU
from fleet.rules.branch_measures import AT_ITS_FLOOR_DB, FLOOR_FELL_DB
from fleet.rules.condition import PAUSE_MAXIMUM_US
from fleet.rules.windows import DAMAGE_OVER_US, LEVEL_OVER_US, OVERLOAD_OVER_US, SLIPS_OVER_US
from fleet.state.commands import WAIT_WITHIN_US
from fleet.state.fleet_state import PACK_ANSWERS_FROM
from fleet.state.settling import READ_AGAIN_AFTER_US
from tests.house.tree import ROOT

LIMITS = SUPERVISOR_LIMITS
MINUS = "\N{MINUS SIGN}"
FIXED = {
    "is late, and lost": f"{WATCH_LIMITS.late_s:g} s and {WATCH_LIMITS.lost_s:g} s",
    "counts as old": f"{UNCERTAIN_AFTER_US / 1e6:g} s, or {['no', 'one', 'two'][UNCERTAIN_INTERVALS]} of its intervals",
    "starts again after a gap": f"{PAUSE_MAXIMUM_US / 1e6:g} s",
    "share one matter": f"{TOGETHER_WITHIN_US / 1e6:g} s",
    "deaf branches of one label": f"{FEED_WITHIN_US / 1e6:g} s",
    "clocks gone wrong": f"{CLOCK_WITHIN_US / 1e6:g} s",
    "level is smoothed": f"{LEVEL_OVER_US / 1e6:g} s",
    "is called deaf when": f"{AT_ITS_FLOOR_DB:g} dB" if AT_ITS_FLOOR_DB == FLOOR_FELL_DB else "two numbers",
    "damage to the audio": f"{DAMAGE_OVER_US / 1e6:g} s",
    "overload of a pack": f"{OVERLOAD_OVER_US / 1e6:g} s",
    "slips of a clock": f"{SLIPS_OVER_US / 1e6:g} s",
    "marks a branch as deaf": f"{DEAF_BELOW_DB:g} dB",
    "counts as speaking": f"{MINUS}{-SPEECH_FROM_DBFS:g} dBFS, or {MINUS}{-SPEECH_FROM_DBU:g} dBu",
    "is believed": f"{PACK_ANSWERS_FROM:.0%}".replace("%", " %"),
    "becomes unknown after": f"{WAIT_WITHIN_US / 3.6e9:g} h",
    "is read again every": f"{READ_AGAIN_AFTER_US / 1e6:g} s",
    "pause before": (
        f"{LIMITS.back_off_first_s:g} s, growing to {LIMITS.back_off_most_s:g} s; "
        f"after bad messages {LIMITS.bad_first_s:g} s, growing to {LIMITS.bad_most_s:g} s"
    ),
}


@pytest.mark.parametrize("what", FIXED)
def test_the_guide_says_what_the_code_does(what: str) -> None:
    lines = (ROOT / "docs" / "operator.md").read_text(encoding="utf-8").splitlines()
    (row,) = [line for line in lines if line.startswith("|") and what in line]
    assert f"| {FIXED[what]}" in row
