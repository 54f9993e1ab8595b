from __future__ import annotations

import numpy as np
import pytest

from fleet.errors import LimitReached
from fleet.model.address import Place
from fleet.model.fields import column_fields
from fleet.model.quality import Quality
from fleet.readings import AGE_NEVER, ROWS_MAXIMUM, Cells, LiveTables, Written
from tests.small_fleet import moment


def put(tables: LiveTables, row: int, value: float, at_us: int, interval_us: int = 100_000) -> None:
    table = tables[Place.CARRIER]
    cells = Cells(np.array([0]), np.array([row]))
    written = Written(
        np.array([value]), np.array([Quality.GOOD], dtype=np.uint8), np.array([at_us]), np.array([interval_us])
    )
    table.write(cells, written)


def carriers(count: int) -> list[tuple[Place, str]]:
    return [(Place.CARRIER, f"d/carrier/{number}") for number in range(count)]


def test_columns_are_the_catalogues_in_its_order() -> None:
    tables = LiveTables()
    for place in Place:
        assert tables[place].fields == column_fields(place)
        assert [column.name for column in tables[place].view().columns] == [f.name for f in column_fields(place)]
    assert [view.place for view in tables.views()] == list(Place)


def test_rows_are_appended_and_keep_their_values_when_the_table_grows() -> None:
    tables = LiveTables()
    tables.append(carriers(3))
    put(tables, 2, -100.0, 5)
    tables.append(carriers(500))
    table = tables[Place.CARRIER]
    assert table.addresses[:3] == ("d/carrier/0", "d/carrier/1", "d/carrier/2")
    assert table.row_of("d/carrier/2") == 2
    assert table.values.shape == (len(table.fields), 500)
    assert table.values[0, 2] == -100.0
    assert np.isnan(table.values[0, 3:]).all()
    assert tables.version == 2
    tables.append(carriers(500))
    assert tables.version == 2


def test_too_many_rows_are_refused_before_any_is_made() -> None:
    tables = LiveTables()
    with pytest.raises(LimitReached):
        tables.append([*carriers(10), *((Place.PACK, f"pack/{n}") for n in range(ROWS_MAXIMUM + 1))])
    assert len(tables[Place.CARRIER]) == 0
    assert tables[Place.CARRIER].row_of("d/carrier/0") is None


def test_ages_are_tenths_of_a_second_and_never_is_said() -> None:
    tables = LiveTables()
    tables.append(carriers(3))
    put(tables, 0, -100.0, 1_000_000)
    put(tables, 1, -100.0, 0)
    ages = tables[Place.CARRIER].ages_100ms(moment(2.25))
    assert (ages[0].tolist(), ages.dtype) == ([12, 22, AGE_NEVER], np.dtype(np.uint16))
    assert tables[Place.CARRIER].ages_100ms(moment(1_000_000.0))[0, 0] == AGE_NEVER


def test_stale_never_looks_live() -> None:
    tables = LiveTables()
    tables.append(carriers(2))
    put(tables, 0, -100.0, 0)
    put(tables, 1, -100.0, 0, interval_us=30_000_000)
    for seconds, expected in ((2.0, [1, 1]), (2.1, [2, 1]), (60.0, [2, 1]), (60.1, [2, 2])):
        tables.age(moment(seconds))
        assert tables[Place.CARRIER].qualities[0].tolist() == expected
    assert tables[Place.CARRIER].values[0].tolist() == [-100.0, -100.0]


def test_doubt_and_forget_touch_their_rows_only() -> None:
    tables = LiveTables()
    tables.append(carriers(3))
    for row in range(3):
        put(tables, row, -100.0, 0)
    tables[Place.CARRIER].doubt(np.array([1]))
    tables[Place.CARRIER].forget(np.array([2]))
    assert tables[Place.CARRIER].qualities[0].tolist() == [Quality.GOOD, Quality.UNCERTAIN, Quality.ABSENT]
    assert np.isnan(tables[Place.CARRIER].values[0]).tolist() == [False, False, True]
