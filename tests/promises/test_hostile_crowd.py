"""Ten hostile devices together hurt only their own rows: they leave room for others, in rows and in settings."""

from __future__ import annotations

import numpy as np

from fleet.model.address import Place
from fleet.model.description import THINGS_MAXIMUM
from fleet.model.device import CarrierDescription, ChannelDescription, ContactState, DeviceDescription
from fleet.model.observation import Contact
from fleet.model.quality import Quality
from fleet.readings import ROWS_MAXIMUM
from tests.promises.promise import MOST, Promise, Seen, keep
from tests.small_fleet import Hand

PROMISE = Promise(
    "hostile_crowd",
    "a hostile device hurts only its own row",
    "ten devices at once that name as much as they can, again and again, and take each other's and others' things",
    "descriptions",
    (100, 2_000, 40_000),
)
HOSTILE = tuple(f"hostile-{number}" for number in range(10))
BEFORE = ("quay-1", "quay-2")
AFTER = tuple(f"rock-{number}" for number in range(5))
TURNS = 10
KINDS = ("channels", "packs", "carriers")


def tried(seed: int) -> Seen:
    return Crowd(seed).trial()


def test_ten_hostile_devices_leave_room_for_others() -> None:
    seen = keep(PROMISE, tried)
    assert 0 < seen["of them refused"] < seen["descriptions"], "some must be taken and some must not"


class Crowd:
    """All of it name the same kind of thing: that fills one table soonest. Every other crowd takes all it can get."""

    def __init__(self, seed: int) -> None:
        self.luck = np.random.default_rng(seed)
        self.hand = Hand()
        self.refused = 0
        self.kind = KINDS[seed % len(KINDS)]
        self.greedy = seed % 2 == 1

    def trial(self) -> Seen:
        hand = self.hand
        hand.produce(*BEFORE)
        for device_id in BEFORE:
            hand.connect(device_id)
        hand.run(1.0, BEFORE)
        said = 0
        for turn in range(TURNS):
            for device_id in HOSTILE:
                self._say(device_id, turn)
                said += 1
            hand.run(0.1, BEFORE)
            self._expect_well(BEFORE)
        for device_id in AFTER:
            hand.connect(device_id)
        hand.run(1.0, (*BEFORE, *AFTER))
        self._expect_well((*BEFORE, *AFTER))
        rows = max(len(hand.pipeline.tables[place]) for place in Place)
        return {
            "descriptions": said,
            "of them refused": self.refused,
            f"{MOST}rows of one table, of {ROWS_MAXIMUM:,}": rows,
        }

    def _say(self, device_id: str, turn: int) -> None:
        described = self._described(device_id, turn, self._count(turn))
        contact = Contact(self.hand.at, device_id, ContactState.FRESH, boot_id=f"b{turn}", description=described)
        self.hand.give(contact)
        status = next(view for view in self.hand.pipeline.devices() if view.device_id == device_id).contact
        self.refused += status.state is ContactState.BAD
        assert status.state is not ContactState.BAD or status.reason

    def _count(self, turn: int) -> int:
        """How many things; the greedy ask for half as many after every second turn, so that the last gap is filled."""
        if self.greedy:
            return (THINGS_MAXIMUM - 1) >> (turn // 2)
        room = THINGS_MAXIMUM + 40
        return int(self.luck.integers(room // 2, room) if self.luck.random() < 0.7 else self.luck.integers(1, 50))

    def _described(self, device_id: str, turn: int, count: int) -> DeviceDescription:
        """New names at every turn; some of packs that others hold."""
        names = [f"{turn}-{number}" for number in range(count)]
        packs = tuple(f"pack/{device_id}-{name}" for name in names) if self.kind == "packs" else ()
        others = () if self.greedy else (*BEFORE, *AFTER[:3])
        stolen = tuple(f"pack/{other}-1" for other in others if self.luck.random() < 0.2)
        carriers = tuple(CarrierDescription(f"{device_id}/carrier/{name}", (), ()) for name in names)
        channels = tuple(ChannelDescription(f"{device_id}/channel/{name}", carriers[0].address) for name in names[1:])
        carriers = {"packs": (), "channels": carriers[:1], "carriers": carriers}[self.kind]
        channels = channels if self.kind == "channels" else ()
        return DeviceDescription(
            device_id, "receiver", "", True, True, carriers=carriers, channels=channels, packs=packs + stolen
        )

    def _expect_well(self, device_ids: tuple[str, ...]) -> None:
        pipeline = self.hand.pipeline
        views = {view.device_id: view for view in pipeline.devices()}
        tables = pipeline.tables
        for device_id in device_ids:
            assert views[device_id].contact.state is ContactState.FRESH, views[device_id].contact.reason
            for number in (1, 2):
                table = tables[Place.CHANNEL]
                row = table.row_of(f"{device_id}/channel/{number}")
                assert row is not None
                assert table.qualities[table.column_of["rms_dbfs"], row] == Quality.GOOD
