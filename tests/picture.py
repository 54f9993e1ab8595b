"""A live picture turned by hand, for tests of what shows it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fleet.model.act import ProgressView
from fleet.model.address import Place
from fleet.model.ahead import Ahead
from fleet.model.event import NoticeReceived
from fleet.model.fields import Value
from fleet.model.matter import Matter
from fleet.model.moment import Moment
from fleet.model.production import NO_PRODUCTION
from fleet.model.quality import Quality
from fleet.model.settings import SettingsView
from fleet.model.snapshot import JournalStatus, Snapshot
from fleet.readings import Cells, LiveTables, Written

START = Moment(1_000_000, 1_760_000_000_000_000)
GOOD_JOURNAL = JournalStatus(writable=True, written_utc_us=None, waiting=0)


def notice(number: int) -> NoticeReceived:
    """A small event that differs from its neighbours."""
    return NoticeReceived(START, "quay-1", "count", str(number))


@dataclass
class NoPast:
    """The recent past of no channel."""

    cells: int
    median_dbm: NDArray[np.float64] = field(init=False)
    worst_dbm: NDArray[np.float64] = field(init=False)
    damage: NDArray[np.float64] = field(init=False)
    speech: NDArray[np.float64] = field(init=False)
    reported: NDArray[np.float64] = field(init=False)
    deaf: NDArray[np.uint8] = field(init=False)

    def __post_init__(self) -> None:
        empty = np.empty((0, self.cells))
        self.median_dbm = self.worst_dbm = self.damage = self.speech = self.reported = empty
        self.deaf = empty.astype(np.uint8)


@dataclass
class PictureByHand:
    """A picture whose members a test sets."""

    tables: LiveTables = field(default_factory=LiveTables)
    sequence: int = 0
    snapshots: int = 0
    exact: dict[str, dict[str, Value | None]] = field(default_factory=dict)
    settings: tuple[SettingsView, ...] = ()
    now_matters: tuple[Matter, ...] = ()
    now_ahead: Ahead = field(default_factory=Ahead)

    def snapshot(self) -> Snapshot:
        self.snapshots += 1
        return Snapshot(
            epoch=1,
            sequence=self.sequence,
            at_utc_us=START.utc_us,
            production=NO_PRODUCTION,
            production_revision=0,
            ahead=self.now_ahead,
            devices=(),
            tables=self.tables.views(),
            settings=(),
            exact={},
            commands=(),
            alarms=(),
            matters=self.now_matters,
            journal=GOOD_JOURNAL,
        )

    def recent_past(self, cells: int) -> NoPast:
        return NoPast(cells)

    def ahead(self) -> Ahead:
        return self.now_ahead

    def matters(self) -> tuple[Matter, ...]:
        return self.now_matters

    def changed_settings(self) -> tuple[SettingsView, ...]:
        changed, self.settings = self.settings, ()
        return changed

    def act_progress(self) -> Mapping[str, ProgressView]:
        return {}

    def exact_changes(self) -> Mapping[str, Mapping[str, Value | None]]:
        changed, self.exact = self.exact, {}
        return changed

    def put(self, place: Place, name: str, values: list[float], quality: Quality = Quality.GOOD) -> None:
        """Write one column over the first rows of a table, made as needed."""
        rows = range(len(values))
        self.tables.append((place, f"quay-{row}" if place is Place.DEVICE else _address(place, row)) for row in rows)
        table = self.tables[place]
        cells = Cells(np.full(len(values), table.column_of[name], dtype=np.intp), np.arange(len(values)))
        qualities = np.full(len(values), quality, dtype=np.uint8)
        times = np.full(len(values), START.monotonic_us), np.full(len(values), 100_000)
        table.write(cells, Written(np.array(values), qualities, *times))


def _address(place: Place, row: int) -> str:
    return f"pack/k{row}" if place is Place.PACK else f"quay-1/{place}/{row}"
