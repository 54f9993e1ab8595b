from __future__ import annotations

import numpy as np

from fleet.model.address import Place
from fleet.model.description import addresses_in
from fleet.readings import LiveTables
from fleet.row_map import NO_ROW, gather, map_rows
from fleet.topology import build_topology
from tests.small_fleet import describe, produce


def test_rows_follow_the_wiring() -> None:
    descriptions = {device_id: describe(device_id, channels) for device_id, channels in (("quay-2", 1), ("quay-1", 2))}
    tables = LiveTables()
    tables.append((Place.CHANNEL, position.channel) for position in produce("quay-3").positions)
    for description in descriptions.values():
        tables.append(addresses_in(description))
    rows = map_rows(build_topology(descriptions, produce("quay-3", "quay-1")), tables)
    channels = tables[Place.CHANNEL].addresses
    assert channels == (
        *(f"quay-3/channel/{n}" for n in (1, 2)),
        "quay-2/channel/1",
        "quay-1/channel/1",
        "quay-1/channel/2",
    )
    assert rows.assigned.tolist() == [True, True, False, True, True]
    assert rows.described[Place.CHANNEL].tolist() == [False, False, True, True, True]
    assert rows.pack_row.tolist() == [NO_ROW, NO_ROW, 0, 1, 2]
    assert rows.carrier_row.tolist() == [NO_ROW, NO_ROW, 0, 1, 2]
    assert rows.branch_rows[Place.CHANNEL].tolist() == [[-1, -1], [-1, -1], [0, 1], [2, 3], [4, 5]]
    assert rows.branch_rows[Place.CARRIER].tolist() == [[0, 1], [2, 3], [4, 5]]
    assert rows.channel_rows[Place.DEVICE].tolist() == [[2, -1], [3, 4]]
    assert rows.channel_rows[Place.BRANCH].tolist() == [[2], [2], [3], [3], [4], [4]]
    assert rows.device_row[Place.PACK].tolist() == [0, 1, 1]


def test_gather_fills_what_has_no_row() -> None:
    rows = np.array([[1, NO_ROW], [0, 1]])
    assert gather(np.array([5.0, 7.0]), rows, np.nan)[0, 0] == 7.0
    assert np.isnan(gather(np.array([5.0, 7.0]), rows, np.nan)[0, 1])
    assert gather(np.array([], dtype=np.bool_), np.array([NO_ROW]), False).tolist() == [False]
