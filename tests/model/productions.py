"""Whole productions made up by Hypothesis: every one is valid, none is real."""

from __future__ import annotations

from hypothesis import strategies as st

from fleet.model.production import AntennaPath, Network, Position, Production, Rack
from fleet.model.running_order import Casting, Cue, Practice, RunningOrder, ShowAct, Sleep, Swap

# Names are whatever prints, formulas, quotes, brackets and far alphabets among it.
NAMES = st.one_of(
    st.sampled_from(
        ["=1+1", "+cmd", "-2", "@here", "'quoted", 'a "b"', "a,b", "[[zone]]", "# no", "\\u0041", " é漢🎤 "]
    ),
    st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=12),
)
IDS = st.text("abz09._-", min_size=1, max_size=8)


@st.composite
def productions(draw: st.DrawFn) -> Production:
    zones = draw(st.lists(NAMES, max_size=3, unique=True))
    positions: list[Position] = []
    for zone in zones:
        for _ in range(draw(st.integers(1, 3))):
            positions.append(_position(draw, zone, len(positions) + 1))
    devices = tuple(f"rack-{row.number}" for row in positions)
    return Production(
        name=draw(NAMES),
        zones=tuple(zones),
        positions=tuple(positions),
        racks=(Rack(draw(NAMES), devices),) if draw(st.booleans()) else (),
        networks=tuple(Network(name, devices) for name in draw(st.lists(NAMES, max_size=2, unique=True))),
        antenna_paths=tuple(_paths(draw, devices)),
        order=_order(draw, positions),
        practice=Practice(
            draw(st.integers(0, 90)), draw(st.integers(0, 60)), draw(st.floats(0.01, 1.0, allow_nan=False))
        ),
    )


def _position(draw: st.DrawFn, zone: str, number: int) -> Position:
    pack = f"pack/k{number}" if draw(st.booleans()) else None
    owner = draw(st.one_of(st.just(""), NAMES))
    return Position(number, draw(NAMES), zone, f"rack-{number}/channel/1", pack, draw(st.booleans()), owner)


def _paths(draw: st.DrawFn, devices: tuple[str, ...]) -> list[AntennaPath]:
    feeds = draw(st.lists(NAMES, max_size=2, unique=True))
    return [
        AntennaPath(
            feed,
            tuple(f"{name}/carrier/1/branch/{'ab'[index]}" for name in devices),
            f"split/input/{index}" if draw(st.booleans()) else None,
        )
        for index, feed in enumerate(feeds)
    ]


def _order(draw: st.DrawFn, positions: list[Position]) -> RunningOrder:
    acts = [ShowAct(act_id, draw(NAMES)) for act_id in draw(st.lists(IDS, max_size=3, unique=True))]
    cues: list[Cue] = []
    ids = draw(st.lists(IDS, min_size=6, max_size=6, unique=True))
    numbers = [row.number for row in positions]
    for act in acts:
        for _ in range(draw(st.integers(0, 2))):
            start_s = (cues[-1].planned_end_s if cues else 0) + draw(st.integers(0, 300))
            on_air = tuple(number for number in numbers if draw(st.booleans()))
            castings = tuple(Casting(number, draw(NAMES)) for number in on_air[:1])
            cues.append(
                Cue(ids[len(cues)], draw(NAMES), act.act_id, start_s, draw(st.integers(1, 900)), on_air, castings)
            )
    return RunningOrder(tuple(acts), tuple(cues), _sleeps(cues, positions), _swaps(cues, positions))


def _resting(cue: Cue, positions: list[Position]) -> tuple[int, ...]:
    return tuple(row.number for row in positions if row.pack is not None and row.number not in cue.on_air)


def _sleeps(cues: list[Cue], positions: list[Position]) -> tuple[Sleep, ...]:
    """Whoever is off air sleeps through a cue, the last one to the end."""
    found = []
    for index, cue in enumerate(cues):
        until = cues[index + 1].cue_id if index + 1 < len(cues) else None
        resting = _resting(cue, positions)
        if resting:
            found.append(Sleep(f"s{index}", resting, cue.cue_id, until))
    return tuple(found)


def _swaps(cues: list[Cue], positions: list[Position]) -> tuple[Swap, ...]:
    return tuple(
        Swap(f"w{n}", _resting(cue, positions), cue.cue_id) for n, cue in enumerate(cues) if _resting(cue, positions)
    )
