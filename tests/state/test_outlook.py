"""What lies ahead, over packs whose words the test sets; expected values are worked out by hand from the evening."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fleet.model.address import Place
from fleet.model.ahead import Ahead, Rest, RestPhase, SwapGap
from fleet.model.fields import GOODBYES
from fleet.model.production import NO_PRODUCTION, Production
from fleet.model.quality import Quality
from fleet.model.running_order import NO_ORDER
from fleet.model.show import NO_SHOW, ShowPhase, ShowPlace
from fleet.readings import Cells, LiveTables, Written
from fleet.row_map import map_rows
from fleet.show_rows import ShowRows
from fleet.state.outlook import Outlook
from fleet.topology import build_topology
from tests.planning.evening import PRODUCTION, after, running

KEEPER, PILOT, FIDDLER = "pack/k01", "pack/k03", "pack/k17"
UTC = [after(minute).utc_us for minute in range(200)]


class Packs:
    """The packs of the production with their channels, an outlook over them, and what they say."""

    def __init__(self, production: Production = PRODUCTION) -> None:
        self.production = production
        self.tables = LiveTables()
        for position in PRODUCTION.positions:
            assert position.pack is not None
            self.tables.append([(Place.PACK, position.pack), (Place.CHANNEL, position.channel)])
        self.outlook = Outlook(self.tables)

    def say(self, pack: str, name: str, value: float, quality: Quality = Quality.GOOD) -> None:
        table = self.tables[Place.PACK]
        row = table.row_of(pack)
        assert row is not None
        cells = Cells(np.array([table.column_of[name]]), np.array([row]))
        values, qualities = np.array([value]), np.array([quality], dtype=np.uint8)
        table.write(cells, Written(values, qualities, np.array([0]), np.array([100_000])))

    def look(self, minutes: float, show: ShowPlace) -> Ahead:
        self.outlook.look(after(minutes), self.production, show)
        return self.outlook.ahead

    def rows(self, minutes: float, show: ShowPlace) -> dict[str, tuple[bool, bool, float, float]]:
        """On air, resting, needed minutes and overdue seconds, by pack."""
        self.look(minutes, show)
        topology = build_topology({}, self.production)
        rows = self.outlook.over_rows(topology, map_rows(topology, self.tables))
        return by_pack(rows, self.tables)


def by_pack(rows: ShowRows, tables: LiveTables) -> dict[str, tuple[bool, bool, float, float]]:
    columns = (rows.on_air, rows.resting, rows.needed_min, rows.wake_overdue_s)
    return {
        pack: (bool(on_air), bool(resting), float(needed), float(overdue))
        for pack, on_air, resting, needed, overdue in zip(tables[Place.PACK].addresses, *columns, strict=True)
    }


def test_a_day_without_a_running_order_shows_minutes_alone_and_all_but_spares_on_air() -> None:
    packs = Packs(replace(PRODUCTION, order=NO_ORDER))
    packs.say(KEEPER, "battery_minutes", 200.9)
    ahead = packs.look(0, NO_SHOW)
    assert (ahead.late_s, ahead.cues, ahead.rests, ahead.on_air) == (None, (), (), (1, 3, 17, 18))
    assert [(one.number, one.minutes_left, one.minutes_needed) for one in ahead.runways] == [
        (1, 200, None),
        (3, None, None),
        (17, None, None),
        (18, None, None),
    ]
    rows = packs.rows(0, NO_SHOW)
    assert [on_air for on_air, *_ in rows.values()] == [True, True, False, True, True]
    assert all(np.isnan(needed) and overdue < 0 and not resting for _, resting, needed, overdue in rows.values())


def test_before_and_after_the_show_all_but_spares_are_on_air() -> None:
    for show in (NO_SHOW, ShowPlace(phase=ShowPhase.OVER)):
        assert [on_air for on_air, *_ in Packs().rows(0, show).values()] == [True, True, False, True, True]
    assert np.isnan(Packs().rows(0, NO_SHOW)[KEEPER][2])
    assert Packs().rows(0, ShowPlace(phase=ShowPhase.OVER))[KEEPER][2] == 0.0


def test_on_air_follows_the_cue() -> None:
    packs = Packs()
    rows = packs.rows(20, running("harbour", 10))
    assert {pack for pack, (on_air, *_) in rows.items() if on_air} == {KEEPER, PILOT}
    assert rows[KEEPER][2] == 100.0
    assert rows["pack/k18"][2] == 0.0
    rows = packs.rows(20.5, running("quay", 20.4))
    assert {pack for pack, (on_air, *_) in rows.items() if on_air} == {FIDDLER, "pack/k18"}


def test_the_cues_to_come_with_who_enters_and_how_late() -> None:
    ahead = Packs().look(20, running("harbour", 13))
    assert ahead.late_s == 180
    assert [(cue.cue_id, cue.starts_utc_us, cue.ends_utc_us, cue.entering) for cue in ahead.cues] == [
        ("harbour", UTC[13], UTC[43], (1, 3)),
        ("interval", UTC[43], UTC[63], ()),
        ("storm", UTC[65], UTC[85], (1,)),
        ("dawn", UTC[85], UTC[95], (17,)),
    ]


def test_a_pack_that_won_t_last_says_by_how_much_where_it_ends_and_where_to_swap() -> None:
    packs = Packs()
    packs.say(KEEPER, "battery_minutes", 30.0)
    packs.say(FIDDLER, "battery_minutes", 120.0)
    packs.say(PILOT, "battery_minutes", 65.0, Quality.UNCERTAIN)
    keeper, pilot, fiddler, crier = packs.look(20, running("harbour", 10)).runways
    # Keeper needs 100; 30 end at minute 70, in the storm; off air from 40 to 65.
    assert (keeper.minutes_left, keeper.minutes_needed, keeper.minutes_short) == (30, 100, 70)
    assert (keeper.ends_utc_us, keeper.ends_in_cue) == (UTC[70], "storm")
    assert keeper.swap == SwapGap("harbour", "storm", UTC[40], 25)
    assert (fiddler.minutes_needed, fiddler.minutes_short, fiddler.swap) == (120, 0, None)
    assert (pilot.minutes_left, pilot.minutes_short) == (None, None)  # Too old to act on: blank, never full.
    assert (crier.minutes_left, crier.minutes_needed) == (None, 0)


def rest(number: int, phase: RestPhase, *, confirmed: bool, begins: int | None = None, due: int | None = 55) -> Rest:
    begins_us = None if begins is None else UTC[begins]
    return Rest("rest", number, phase, confirmed, begins_us, None if due is None else UTC[due])


def test_planned_sleep_from_before_it_to_its_confirmed_end() -> None:
    packs = Packs()
    coming = packs.look(20, running("harbour", 10)).rests
    assert coming == tuple(rest(number, RestPhase.COMING, confirmed=False, begins=40) for number in (1, 3))
    interval = running("interval", 40)
    packs.say(KEEPER, "asleep", 1.0)
    assert packs.look(41, interval).rests == (
        rest(1, RestPhase.RESTING, confirmed=True),
        rest(3, RestPhase.RESTING, confirmed=False),
    )
    assert {pack for pack, (_, resting, *_) in packs.rows(41, interval).items() if resting} == {KEEPER, PILOT}
    packs.say(PILOT, "asleep", 0.0)
    assert packs.look(55, interval).rests == (
        rest(1, RestPhase.WAKING, confirmed=False),
        rest(3, RestPhase.WAKING, confirmed=True),
    )
    packs.say(KEEPER, "asleep", 0.0)
    assert packs.look(56, interval).rests[0] == rest(1, RestPhase.WAKING, confirmed=True)
    assert packs.look(65, running("storm", 65)).rests == ()


def test_a_wake_that_is_due_and_not_confirmed_is_overdue_until_the_pack_says_so() -> None:
    packs, interval = Packs(), running("interval", 40)
    packs.say(KEEPER, "asleep", 1.0)
    packs.say(PILOT, "asleep", 0.0)
    assert packs.rows(54.9, interval)[KEEPER][3] < 0
    assert packs.rows(55, interval)[KEEPER][3] == 0.0
    rows = packs.rows(56, interval)
    assert (rows[KEEPER][1], rows[KEEPER][3]) == (True, 60.0)
    assert (rows[PILOT][1], rows[PILOT][3] < 0) == (False, True)
    storm = packs.rows(66, running("storm", 65))
    assert (storm[KEEPER][0], storm[KEEPER][1], storm[KEEPER][3]) == (True, False, 660.0)
    packs.say(KEEPER, "asleep", 0.0)
    assert packs.rows(66.1, running("storm", 65))[KEEPER][3] < 0


def test_silence_confirms_no_wake() -> None:
    packs, interval = Packs(), running("interval", 40)
    packs.say(KEEPER, "asleep", 0.0, Quality.UNCERTAIN)
    rows = packs.rows(56, interval)
    assert rows[KEEPER][3] >= 0
    assert rows[PILOT][3] >= 0


def test_a_pack_that_never_speaks_of_sleep_confirms_by_being_heard() -> None:
    packs, interval = Packs(), running("interval", 40)
    packs.say(KEEPER, "last_seen_s", 0.4)
    packs.say(PILOT, "last_seen_s", 900.0)
    rows = packs.rows(56, interval)
    assert rows[KEEPER][3] < 0
    assert rows[PILOT][3] >= 0


def test_a_pack_asleep_against_the_plan_is_due_ten_minutes_before_its_cue() -> None:
    packs = Packs()
    packs.say(FIDDLER, "goodbye", GOODBYES.index("standby"))
    assert packs.rows(70, running("storm", 65))[FIDDLER][3] < 0
    assert packs.rows(75, running("storm", 65))[FIDDLER][3] == 0.0
    assert packs.rows(76, running("storm", 65))[FIDDLER][3] == 60.0
    packs.say(FIDDLER, "goodbye", GOODBYES.index("none"))
    assert packs.rows(77, running("storm", 65))[FIDDLER][3] < 0


def test_a_confirmed_wake_stays_confirmed_when_the_pack_is_silent_later() -> None:
    packs, interval = Packs(), running("interval", 40)
    packs.say(KEEPER, "asleep", 0.0)
    packs.say(PILOT, "asleep", 0.0)
    packs.look(56, interval)
    packs.say(KEEPER, "asleep", 0.0, Quality.UNCERTAIN)
    assert packs.rows(58, interval)[KEEPER][3] < 0
    assert packs.look(66, running("storm", 65)).rests == ()


def test_what_slides_by_itself_is_shown_every_five_seconds_and_what_was_done_at_once() -> None:
    packs, overrun = Packs(), running("harbour", 10)
    first = packs.look(50, overrun)
    assert packs.look(50 + 4 / 60, overrun) is first
    assert packs.look(50 + 5 / 60, overrun) is not first
    assert packs.look(50 + 5.1 / 60, running("interval", 50)).show.cue_id == "interval"
    quiet = Packs(NO_PRODUCTION)
    nothing = quiet.look(0, NO_SHOW)
    assert quiet.look(10, NO_SHOW) is nothing
