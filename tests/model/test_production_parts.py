"""Members of a production's lists by their ids, as JSON values."""

from __future__ import annotations

import pytest

from fleet.errors import NotFound
from fleet.model.production_json import production_as_object, production_of_object
from fleet.model.production_parts import PartKind, part_of, patched_part, with_part, without_part
from tests.planning.evening import PRODUCTION

VALUES = production_as_object(PRODUCTION)


def test_a_member_is_found_by_its_id_and_by_no_other() -> None:
    assert part_of(VALUES, PartKind.POSITIONS, "17")["part"] == "Fiddler"
    assert part_of(VALUES, PartKind.ACTS, "two")["name"] == "Act II"
    for kind, key in ((PartKind.POSITIONS, "99"), (PartKind.POSITIONS, "Fiddler"), (PartKind.RACKS, "17")):
        with pytest.raises(NotFound):
            part_of(VALUES, kind, key)


def test_a_member_is_replaced_in_its_place_and_the_values_given_stay_as_they_were() -> None:
    body = {"part": "Piper", "zone": "House", "channel": "rack-17/channel/1"}
    changed = production_of_object(with_part(VALUES, PartKind.POSITIONS, "17", body), "x")
    assert [row.number for row in changed.positions] == [1, 3, 16, 17, 18]
    assert changed.positions[3].pack is None
    assert production_as_object(PRODUCTION) == VALUES


def test_a_patch_changes_what_it_names() -> None:
    changed = production_of_object(patched_part(VALUES, PartKind.CUES, "dawn", {"on_air": [3]}), "x")
    assert (changed.order.cues[-1].on_air, changed.order.cues[-1].name) == ((3,), "Dawn")


def test_what_is_taken_out_is_gone_and_nothing_else() -> None:
    changed = production_of_object(without_part(VALUES, PartKind.POSITIONS, "16"), "x")
    assert [row.number for row in changed.positions] == [1, 3, 17, 18]
