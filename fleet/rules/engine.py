"""All rules over all rows, once a tick: conditions by column, alarms where one begins, ends or is suppressed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby

import numpy as np

from fleet.model.address import Place
from fleet.model.alarm import AlarmState
from fleet.model.event import AlarmChanged
from fleet.model.moment import Moment
from fleet.model.rule import Rule
from fleet.readings import LiveTables
from fleet.row_map import RowMap
from fleet.rules.alarm_book import AlarmBook, Raising, alarm_id_of
from fleet.rules.circumstances import Circumstances, Mask, circumstances
from fleet.rules.condition import ConditionGrid, Grid
from fleet.rules.measures import MEASURES
from fleet.rules.sight import Sight
from fleet.rules.windows import Windows

_ORDER = list(Place)


class RuleEngine:
    """The enabled rules in place, and their alarms.

    Devices come before what hangs on them, so that a root cause is raised first.
    """

    def __init__(self, rules: Iterable[Rule], book: AlarmBook) -> None:
        enabled = sorted((rule for rule in rules if rule.enabled), key=lambda rule: _ORDER.index(rule.place))
        self._rule_ids = frozenset(rule.rule_id for rule in enabled)
        self._place_of = {rule.rule_id: rule.place for rule in enabled}
        self._book = book
        self._windows = Windows()
        self._parts = [
            _PlaceRules(place, tuple(rules), book) for place, rules in groupby(enabled, key=lambda rule: rule.place)
        ]

    def step(self, at: Moment, tables: LiveTables, rows: RowMap, out_of_contact: Mask) -> tuple[AlarmChanged, ...]:
        """Evaluate every rule on every row. ``out_of_contact`` is over the rows of devices."""
        self._windows.feed(tables)
        sight = Sight(at.monotonic_us, tables, rows, self._windows)
        around = circumstances([part.place for part in self._parts], tables, rows, out_of_contact)
        return tuple(event for part in self._parts for event in part.step(at, sight, around[part.place]))

    def drop_orphans(self, at: Moment, may_be: Callable[[str], bool]) -> tuple[AlarmChanged, ...]:
        """End the alarms whose rule is no longer in place, and those at addresses where nothing is or may yet be."""
        orphans = [
            alarm.alarm_id
            for alarm in self._book.all()
            if alarm.rule_id not in self._rule_ids or not may_be(alarm.address)
        ]
        return tuple(event for alarm_id in orphans for event in self._book.drop(at, alarm_id))

    def may_exist(self, alarm_id: str, tables: LiveTables) -> bool:
        """Whether some rule and row could have that alarm."""
        rule_id, _, address = alarm_id.partition(":")
        place = self._place_of.get(rule_id)
        return place is not None and tables[place].row_of(address) is not None


class _PlaceRules:
    """The rules of one place. All grids are [rule, row]."""

    def __init__(self, place: Place, rules: tuple[Rule, ...], book: AlarmBook) -> None:
        self.place = place
        self._rules = rules
        self._book = book
        self._grid = ConditionGrid(rules)
        self._suppressed: Grid = np.zeros((len(rules), 0), dtype=np.bool_)
        self._on_air: Grid = np.zeros(0, dtype=np.bool_)

    def step(self, at: Moment, sight: Sight, around: Circumstances) -> Iterator[AlarmChanged]:
        table = sight.tables[self.place]
        self._grow(at, table.addresses)
        samples = [MEASURES[name].sample(sight) for name in self._grid.measures]
        quiet = self._quiet(around)
        flips = self._grid.step(at.monotonic_us, samples, quiet)
        if not self._grid.holds.any() and not flips.ended.any():
            self._on_air = around.on_air
            return
        for rule, row in _cells(flips.began):
            yield from self._begin(at, sight, (rule, row), bool(around.on_air[row]))
        for rule, row in _cells(flips.ended):
            yield from self._book.end(at, self._alarm_id(rule, table.addresses[row]))
        yield from self._suppress(at, table.addresses, quiet, flips.told)
        yield from self._reprioritise(at, table.addresses, around.on_air)

    def _begin(self, at: Moment, sight: Sight, cell: tuple[int, int], on_air: bool) -> tuple[AlarmChanged, ...]:
        index, row = cell
        rule = self._rules[index]
        raising = Raising(
            rule_id=rule.rule_id,
            address=sight.tables[self.place].addresses[row],
            priority=_priority(rule, on_air),
            began_utc_us=at.utc_us - (at.monotonic_us - self._grid.began_us(index, row)),
            evidence=MEASURES[rule.measure].evidence(sight, row),
        )
        return self._book.begin(at, raising)

    def _quiet(self, around: Circumstances) -> Grid:
        quiet = np.tile(around.gone, (len(self._rules), 1))
        for index, rule in enumerate(self._rules):
            for suppressor in rule.suppressed_when:
                quiet[index] |= around.suppressors[suppressor]
        return quiet

    def _suppress(self, at: Moment, addresses: Sequence[str], quiet: Grid, told: Grid) -> Iterator[AlarmChanged]:
        """Suppress what is to be quiet; release the rest once its readings are back, or have been missing for long."""
        suppressed = self._grid.holds & (quiet | (self._suppressed & ~told))
        for rule, row in _cells(suppressed & ~self._suppressed):
            yield from self._book.suppress(at, self._alarm_id(rule, addresses[row]))
        for rule, row in _cells(self._suppressed & ~suppressed & self._grid.holds):
            yield from self._book.release(at, self._alarm_id(rule, addresses[row]))
        self._suppressed = suppressed

    def _reprioritise(self, at: Moment, addresses: Sequence[str], on_air: Grid) -> Iterator[AlarmChanged]:
        changed = (on_air != self._on_air) & self._grid.holds
        self._on_air = on_air
        for rule, row in _cells(changed):
            priority = _priority(self._rules[rule], bool(on_air[row]))
            yield from self._book.reprioritise(at, self._alarm_id(rule, addresses[row]), priority)

    def _grow(self, at: Moment, addresses: Sequence[str]) -> None:
        """New rows; where an alarm is remembered its condition holds until it is seen to end."""
        known = self._suppressed.shape[1]
        more = len(addresses) - known
        if more == 0:
            return
        self._grid.grow(len(addresses), at.monotonic_us)
        self._suppressed = np.pad(self._suppressed, ((0, 0), (0, more)))
        self._on_air = np.pad(self._on_air, (0, more))
        for row in range(known, len(addresses)):
            for index in range(len(self._rules)):
                alarm = self._book.get(self._alarm_id(index, addresses[row]))
                if alarm is not None and alarm.state is not AlarmState.RETURNED_UNACKNOWLEDGED:
                    self._grid.set_holding(index, row)
                    self._suppressed[index, row] = alarm.state is AlarmState.SUPPRESSED

    def _alarm_id(self, rule: int, address: str) -> str:
        return alarm_id_of(self._rules[rule].rule_id, address)


def _priority(rule: Rule, on_air: bool) -> int:
    return rule.priority_on_air if on_air and rule.priority_on_air is not None else rule.priority


def _cells(grid: Grid) -> Iterator[tuple[int, int]]:
    """The set cells, rule by rule; empty in nearly every tick."""
    if not grid.any():
        return
    for rule, row in np.argwhere(grid):
        yield int(rule), int(row)
