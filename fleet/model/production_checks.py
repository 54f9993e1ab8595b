"""What must hold between the parts of a production: names used once, references that lead somewhere, times in order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from fleet.errors import InvalidDocument
from fleet.model.production import Production
from fleet.model.production_read import POSITIONS_MAXIMUM
from fleet.model.running_order import Cue, Sleep

Refuse = Callable[[str, str, object], InvalidDocument]


def check_production(production: Production, file: str) -> None:
    """Refuse a production whose parts don't fit one another.

    Raises InvalidDocument with the key of the first fault.
    """

    def refuse(key: str, expected: str, found: object) -> InvalidDocument:
        return InvalidDocument(file, key, expected, found)

    if len(production.positions) > POSITIONS_MAXIMUM:
        raise refuse("positions", f"at most {POSITIONS_MAXIMUM} positions", len(production.positions))
    _check_rows(production, refuse)
    _check_wiring(production, refuse)
    _check_cues(production, refuse)
    _check_sleeps(production, refuse)
    _check_swaps(production, refuse)


def _once(values: Iterable[object], key: str, expected: str, refuse: Refuse) -> None:
    seen: set[object] = set()
    for value in values:
        if value in seen:
            raise refuse(key, expected, value)
        seen.add(value)


def _check_rows(production: Production, refuse: Refuse) -> None:
    rows = production.positions
    _once(production.zones, "zone", "zone names that differ", refuse)
    _once((row.number for row in rows), "number", "numbers that differ", refuse)
    _once((row.channel for row in rows), "channel", "channels that differ", refuse)
    _once((row.pack for row in rows if row.pack is not None), "pack", "packs that differ", refuse)
    for row in rows:
        if row.zone not in production.zones:
            raise refuse(f"position {row.number}.zone", "the name of a zone of this production", row.zone)


def _check_wiring(production: Production, refuse: Refuse) -> None:
    racks, paths = production.racks, production.antenna_paths
    _once((rack.name for rack in racks), "rack.name", "rack names that differ", refuse)
    _once((name for rack in racks for name in rack.devices), "rack.devices", "a device in one rack", refuse)
    _once((network.name for network in production.networks), "network.name", "network names that differ", refuse)
    _once((path.feed for path in paths), "antenna_path.feed", "feed names that differ", refuse)
    _once((path.input for path in paths if path.input), "antenna_path.input", "an input with one feed", refuse)
    branches = (branch for path in paths for branch in path.branches)
    _once(branches, "antenna_path.branches", "a branch on one feed", refuse)


def _check_cues(production: Production, refuse: Refuse) -> None:
    order = production.order
    _once((act.act_id for act in order.acts), "act.act_id", "act ids that differ", refuse)
    _once((cue.cue_id for cue in order.cues), "cue.cue_id", "cue ids that differ", refuse)
    place = {act.act_id: index for index, act in enumerate(order.acts)}
    numbers = {row.number for row in production.positions}
    before: Cue | None = None
    for cue in order.cues:
        if cue.act not in place:
            raise refuse(f"cue {cue.cue_id}.act", "the id of an act", cue.act)
        _check_numbers(cue.on_air, numbers, f"cue {cue.cue_id}.on_air", refuse)
        _check_castings(cue, refuse)
        if before is not None and place[cue.act] < place[before.act]:
            raise refuse(f"cue {cue.cue_id}.act", "cues in the order of their acts", cue.act)
        if before is not None and cue.planned_start_s < before.planned_end_s:
            expected = f"a start at or after the end of cue {before.cue_id}, {before.planned_end_s} s"
            raise refuse(f"cue {cue.cue_id}.planned_start_s", expected, cue.planned_start_s)
        before = cue


def _check_castings(cue: Cue, refuse: Refuse) -> None:
    cast = [casting.number for casting in cue.castings]
    _once(cast, f"cue {cue.cue_id}.castings", "one casting for a number", refuse)
    for number in cast:
        if number not in cue.on_air:
            raise refuse(f"cue {cue.cue_id}.castings", "numbers that are on air in the cue", number)


def _check_sleeps(production: Production, refuse: Refuse) -> None:
    order = production.order
    _once((sleep.sleep_id for sleep in order.sleeps), "sleep.sleep_id", "sleep ids that differ", refuse)
    slept: dict[int, list[range]] = {}
    for sleep in order.sleeps:
        key = f"sleep {sleep.sleep_id}"
        cues = _cues_of(sleep, order.cues, refuse)
        _check_packs(sleep.numbers, production, f"{key}.numbers", refuse)
        for number in sleep.numbers:
            if any(number in order.cues[index].on_air for index in cues):
                raise refuse(f"{key}.numbers", "rows that are on air in none of its cues", number)
            if any(cues.start < other.stop and other.start < cues.stop for other in slept.get(number, ())):
                raise refuse(f"{key}.numbers", "rows that no other sleep has at the same time", number)
            slept.setdefault(number, []).append(cues)


def _cues_of(sleep: Sleep, cues: Sequence[Cue], refuse: Refuse) -> range:
    """The indices of the cues through which packs sleep."""
    index = {cue.cue_id: place for place, cue in enumerate(cues)}
    for name, cue_id in (("from_cue", sleep.from_cue), ("until_cue", sleep.until_cue)):
        if cue_id is not None and cue_id not in index:
            raise refuse(f"sleep {sleep.sleep_id}.{name}", "the id of a cue", cue_id)
    until = len(cues) if sleep.until_cue is None else index[sleep.until_cue]
    if until <= index[sleep.from_cue]:
        raise refuse(f"sleep {sleep.sleep_id}.until_cue", "a cue after from_cue", sleep.until_cue)
    return range(index[sleep.from_cue], until)


def _check_swaps(production: Production, refuse: Refuse) -> None:
    order = production.order
    _once((swap.swap_id for swap in order.swaps), "swap.swap_id", "swap ids that differ", refuse)
    cues = {cue.cue_id: cue for cue in order.cues}
    for swap in order.swaps:
        key = f"swap {swap.swap_id}"
        if swap.cue not in cues:
            raise refuse(f"{key}.cue", "the id of a cue", swap.cue)
        _check_packs(swap.numbers, production, f"{key}.numbers", refuse)
        for number in swap.numbers:
            if number in cues[swap.cue].on_air:
                raise refuse(f"{key}.numbers", "rows that aren't on air in its cue", number)


def _check_packs(numbers: Sequence[int], production: Production, key: str, refuse: Refuse) -> None:
    if not numbers:
        raise refuse(key, "at least one number", ())
    rows = {row.number: row for row in production.positions}
    _check_numbers(numbers, set(rows), key, refuse)
    for number in numbers:
        if rows[number].pack is None:
            raise refuse(key, "rows that have a pack", number)


def _check_numbers(numbers: Iterable[int], known: set[int], key: str, refuse: Refuse) -> None:
    for number in numbers:
        if number not in known:
            raise refuse(key, "numbers of rows of this production", number)
