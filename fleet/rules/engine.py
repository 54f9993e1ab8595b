"""All rules over all rows, once a tick: conditions by column, alarms where one begins, ends or is suppressed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import numpy as np

from fleet.model.address import Place
from fleet.model.alarm import AlarmState
from fleet.model.event import AlarmChanged
from fleet.model.moment import Moment
from fleet.model.rule import Rule
from fleet.readings import LiveTables
from fleet.row_map import RowMap
from fleet.rules.alarm_book import AlarmBook, Raising, alarm_id_of
from fleet.rules.circumstances import Mask, Surroundings
from fleet.rules.condition import ConditionGrid, Grid
from fleet.rules.measures import MEASURES
from fleet.rules.sight import Sight, stack
from fleet.rules.windows import Windows

_ORDER = list(Place)


class RuleEngine:
    """The enabled rules in place, and their alarms. All grids are [rule, row], each rule over the rows of its place.

    Rules of devices come before those of what hangs on them, so that a root cause is raised first.
    """

    def __init__(self, rules: Iterable[Rule], book: AlarmBook) -> None:
        enabled = sorted((rule for rule in rules if rule.enabled), key=lambda rule: _ORDER.index(rule.place))
        self._rules = tuple(enabled)
        self._rules_of = {place: [i for i, rule in enumerate(enabled) if rule.place is place] for place in Place}
        self._place_of = {rule.rule_id: rule.place for rule in enabled}
        self._book = book
        self._windows = Windows()
        self._grid = ConditionGrid(self._rules)
        self._known_rows = dict.fromkeys(Place, 0)
        self._around = Surroundings(self._rules)
        self._suppressed: Grid = np.zeros((len(enabled), 0), dtype=np.bool_)
        self._on_air: Grid = np.zeros((len(enabled), 0), dtype=np.bool_)

    def step(self, at: Moment, tables: LiveTables, rows: RowMap, out_of_contact: Mask) -> tuple[AlarmChanged, ...]:
        """Evaluate every rule on every row. ``out_of_contact`` is over the rows of devices."""
        if not self._rules:
            return ()
        self._windows.feed(tables)
        self._grow(at, tables)
        quiet, on_air = self._around.look(tables, rows, out_of_contact)
        return tuple(self._step(at, Sight(at.monotonic_us, tables, rows, self._windows), quiet, on_air))

    def drop_orphans(self, at: Moment, may_be: Callable[[str], bool]) -> tuple[AlarmChanged, ...]:
        """End the alarms whose rule is no longer in place, and those at addresses where nothing is or may yet be."""
        orphans = [
            alarm.alarm_id
            for alarm in self._book.all()
            if alarm.rule_id not in self._place_of or not may_be(alarm.address)
        ]
        return tuple(event for alarm_id in orphans for event in self._book.drop(at, alarm_id))

    def let_go(self, at: Moment, tables: LiveTables, rows: Iterable[tuple[Place, int]]) -> tuple[AlarmChanged, ...]:
        """End every alarm of those rows, and forget how far their conditions had come: nobody watches them now."""
        ended: list[AlarmChanged] = []
        for place, row in rows:
            for rule in self._rules_of[place]:
                alarm_id = self._alarm_id(tables, (rule, row))
                if self._book.get(alarm_id) is not None:
                    ended += self._book.drop(at, alarm_id)
                if row < self._suppressed.shape[1]:
                    self._grid.forget(rule, row)
                    self._suppressed[rule, row] = False
        return tuple(ended)

    def may_exist(self, alarm_id: str, tables: LiveTables) -> bool:
        """Whether some rule and row could have that alarm."""
        rule_id, _, address = alarm_id.partition(":")
        place = self._place_of.get(rule_id)
        return place is not None and tables[place].row_of(address) is not None

    def _step(self, at: Moment, sight: Sight, quiet: Grid, on_air: Grid) -> Iterator[AlarmChanged]:
        samples = stack([MEASURES[name].sample(sight) for name in self._grid.measures], quiet.shape[1])
        flips = self._grid.step(at.monotonic_us, samples, quiet)
        if not self._grid.holds.any() and not flips.ended.any():
            self._on_air = on_air
            return
        for rule, row in _cells(flips.began):
            yield from self._begin(at, sight, (rule, row), bool(on_air[rule, row]))
        for cell in _cells(flips.ended):
            yield from self._book.end(at, self._alarm_id(sight.tables, cell))
        yield from self._suppress(at, sight.tables, quiet, flips.told)
        yield from self._reprioritise(at, sight.tables, on_air)

    def _begin(self, at: Moment, sight: Sight, cell: tuple[int, int], on_air: bool) -> tuple[AlarmChanged, ...]:
        index, row = cell
        rule = self._rules[index]
        raising = Raising(
            rule_id=rule.rule_id,
            address=sight.tables[rule.place].addresses[row],
            priority=_priority(rule, on_air),
            began_utc_us=at.utc_us - (at.monotonic_us - self._grid.began_us(index, row)),
            evidence=MEASURES[rule.measure].evidence(sight, row),
        )
        return self._book.begin(at, raising)

    def _suppress(self, at: Moment, tables: LiveTables, quiet: Grid, told: Grid) -> Iterator[AlarmChanged]:
        """Suppress what is to be quiet; release the rest once its readings are back, or have been missing for long."""
        suppressed = self._grid.holds & (quiet | (self._suppressed & ~told))
        for cell in _cells(suppressed & ~self._suppressed):
            yield from self._book.suppress(at, self._alarm_id(tables, cell))
        for cell in _cells(self._suppressed & ~suppressed & self._grid.holds):
            yield from self._book.release(at, self._alarm_id(tables, cell))
        self._suppressed = suppressed

    def _reprioritise(self, at: Moment, tables: LiveTables, on_air: Grid) -> Iterator[AlarmChanged]:
        changed = (on_air != self._on_air) & self._grid.holds
        self._on_air = on_air
        for rule, row in _cells(changed):
            priority = _priority(self._rules[rule], bool(on_air[rule, row]))
            yield from self._book.reprioritise(at, self._alarm_id(tables, (rule, row)), priority)

    def _grow(self, at: Moment, tables: LiveTables) -> None:
        """New rows; where an alarm is remembered its condition holds until it is seen to end."""
        more = max(len(tables[place]) for place in Place) - self._suppressed.shape[1]
        if more > 0:
            self._grid.grow(self._suppressed.shape[1] + more, at.monotonic_us)
            self._suppressed = np.pad(self._suppressed, ((0, 0), (0, more)))
            self._on_air = np.pad(self._on_air, ((0, 0), (0, more)))
        for place, known in self._known_rows.items():
            rows = len(tables[place])
            if rows > known:
                self._known_rows[place] = rows
                self._grid.start(self._rules_of[place], slice(known, rows), at.monotonic_us)
                for row in range(known, rows):
                    self._remember(tables, place, row)

    def _remember(self, tables: LiveTables, place: Place, row: int) -> None:
        for rule in self._rules_of[place]:
            alarm = self._book.get(self._alarm_id(tables, (rule, row)))
            if alarm is not None and alarm.state is not AlarmState.RETURNED_UNACKNOWLEDGED:
                self._grid.set_holding(rule, row)
                self._suppressed[rule, row] = alarm.state is AlarmState.SUPPRESSED

    def _alarm_id(self, tables: LiveTables, cell: tuple[int, int]) -> str:
        rule = self._rules[cell[0]]
        return alarm_id_of(rule.rule_id, tables[rule.place].addresses[cell[1]])


def _priority(rule: Rule, on_air: bool) -> int:
    return rule.priority_on_air if on_air and rule.priority_on_air is not None else rule.priority


def _cells(grid: Grid) -> Iterator[tuple[int, int]]:
    """The set cells, rule by rule; empty in nearly every tick."""
    if not grid.any():
        return
    for rule, row in np.argwhere(grid):
        yield int(rule), int(row)
