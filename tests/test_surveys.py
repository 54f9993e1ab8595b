"""Surveys over a real database and a real process: read beside the loop, kept for good, known after a restart."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from fleet.clock import SystemClock
from fleet.errors import ValueRefused
from fleet.jobs import Jobs
from fleet.journal.documents import Documents
from fleet.journal.writer import InlineWriter
from fleet.model.event import DocumentApplied, Event
from fleet.model.moment import Moment
from fleet.model.survey import Circumstances
from fleet.surveys import Surveys, slug_of

ABOUT = Circumstances("House left", 1_700_000_000_000_000, "wand", file="evening.csv")


class Diary:
    """Writes down what it is told."""

    def __init__(self) -> None:
        self.noted: list[Event] = []

    def now(self) -> Moment:
        return Moment(1, 1_700_000_100_000_000)

    def record(self, *events: Event) -> None:
        self.noted.extend(events)

    async def settled(self) -> None:
        """All is durable at once."""


@pytest.fixture
async def jobs() -> AsyncIterator[Jobs]:
    made = Jobs(SystemClock())
    yield made
    await made.close()


async def test_what_is_kept_is_there_after_a_restart(tmp_path: Path, jobs: Jobs) -> None:
    url = f"sqlite:///{tmp_path / 'journal.db'}"
    file, wrong, diary = tmp_path / "evening.csv", tmp_path / "wrong.csv", Diary()
    file.write_text("MHz,dBm\n" + "".join(f"{470 + point / 40:.3f},-105\n" for point in range(200)))
    wrong.write_text("MHz,dBm\n470.0,-105\n470.1,loud\n")
    writer = InlineWriter(url)
    await writer.open()
    documents = Documents(url, writer)
    surveys = Surveys(documents, jobs, diary)
    facts = await surveys.keep_file("Engineer", file, ABOUT, 25_000)
    both = await asyncio.gather(*(surveys.keep_file("Engineer", file, ABOUT, None) for _ in range(2)))
    with pytest.raises(ValueRefused, match="line 3"):
        await surveys.keep_file("Engineer", wrong, ABOUT, None)
    documents.close()
    again = Documents(url, writer)
    known = await Surveys(again, jobs, diary).all()
    scan = await Surveys(again, jobs, diary).scan(facts.scan_id)
    again.close()
    await writer.close()
    assert {each.scan_id for each in known} == {facts.scan_id, *(each.scan_id for each in both)}
    assert len(known) == 3
    assert facts in known
    assert (scan.maximum_dbm, scan.bandwidth_hz, scan.place) == ((-105.0,) * 200, 25_000, "House left")
    noted = [event.document for event in diary.noted if isinstance(event, DocumentApplied)]
    assert noted == [f"scan/{each.scan_id}" for each in (facts, *sorted(both, key=lambda one: one.scan_id))]


@pytest.mark.parametrize(
    ("place", "slug"),
    [
        ("House left", "house-left-20231114-2213"),
        ("Flügel / Süd!", "fl-gel-s-d-20231114-2213"),
        ("---", "survey-20231114-2213"),
        ("x" * 100, "x" * 40 + "-20231114-2213"),
    ],
)
def test_names_say_where_and_when(place: str, slug: str) -> None:
    """1,700,000,000 s is 2023-11-14 22:13:20 UTC, by `date`."""
    assert slug_of(place, 1_700_000_000_000_000) == slug
