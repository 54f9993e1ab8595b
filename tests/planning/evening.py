"""A short evening with round numbers, so that each expected value can be worked out by hand.

Minutes from the beginning::

    0    quay        Fiddler (17), Crier (18)
    10   harbour     Keeper (1), Pilot (3)
    40   interval    nobody; 1 and 3 sleep
    60   storm       Keeper (1)                 planned at 65: five minutes of pause before it
    85   dawn        Keeper (1), Fiddler (17)
    95   the end
"""

from __future__ import annotations

from fleet.model.moment import Moment
from fleet.model.production import Position, Production
from fleet.model.running_order import Cue, Practice, RunningOrder, ShowAct, Sleep, Swap
from fleet.model.show import CueStart, ShowPhase, ShowPlace

MINUTE_US = 60_000_000
BEGAN = Moment(5_000_000_000, 1_760_000_000_000_000)
PRACTICE = Practice(swap_margin_min=45, wake_lead_min=10, asleep_drain_fraction=0.2)

CUES = (
    Cue("quay", "The quay at dusk", "prologue", 0, 600, (17, 18)),
    Cue("harbour", "In the harbour", "one", 600, 1800, (1, 3)),
    Cue("interval", "Interval", "one", 2400, 1200),
    Cue("storm", "The storm", "two", 3900, 1200, (1,)),
    Cue("dawn", "Dawn", "two", 5100, 600, (1, 17)),
)
ORDER = RunningOrder(
    (ShowAct("prologue", "Prologue"), ShowAct("one", "Act I"), ShowAct("two", "Act II")),
    CUES,
    sleeps=(Sleep("rest", (1, 3), "interval", "storm"),),
)


def position(number: int, part: str, *, spare: bool = False) -> Position:
    return Position(number, part, "House", f"rack-{number}/channel/1", f"pack/k{number:02}", spare)


PRODUCTION = Production(
    "The Lamp at Tern Rock",
    ("House",),
    (
        position(1, "Keeper"),
        position(3, "Pilot"),
        position(16, "Spare", spare=True),
        position(17, "Fiddler"),
        position(18, "Crier"),
    ),
    order=ORDER,
    practice=PRACTICE,
)
SWAPPED = Swap("cells", (1,), "interval")


def after(minutes: float) -> Moment:
    """That long after the show began."""
    return BEGAN.later(60 * minutes)


def running(cue_id: str, started_min: float) -> ShowPlace:
    """A show that began on time and began that cue so long after it began."""
    return ShowPlace(1, ShowPhase.RUNNING, BEGAN, CueStart(cue_id, after(started_min)))
