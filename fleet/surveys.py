"""The surveys of a console: scans kept as documents, read from files beside the live loop, or from what devices sent.

A scan is never changed once it is kept.
"""

from __future__ import annotations

import asyncio
import re
import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Protocol

import msgspec

from fleet.errors import LimitReached, RevisionMissing, ValueRefused
from fleet.job_works import READ_SCAN
from fleet.journal.documents import Document, Draft
from fleet.model.act import ScanLevels
from fleet.model.event import DocumentApplied, Event
from fleet.model.moment import Moment
from fleet.model.survey import SCAN, Circumstances, Scan, ScanFacts
from fleet.model.survey_found import ScanComparison, ScanFound
from fleet.model.survey_json import scan_as_object, scan_of_object
from fleet.planning.spectrum.compare import compare
from fleet.planning.spectrum.found import found_in
from fleet.planning.spectrum.regions import region_of
from fleet.planning.spectrum.scan import scan_of_acts

SURVEYS_MAXIMUM = 500
_SLUG_LENGTH_MAXIMUM = 40
_US = 1_000_000


class Drawer(Protocol):
    """Where documents are kept. Each call waits for the disk and raises JournalUnavailable."""

    def get(self, kind: str, name: str, revision: int | None = None) -> Document:
        """A document as it stands, or as it stood. Raises NotFound."""

    def all_of(self, kind: str) -> tuple[Document, ...]:
        """Each document of a kind as it stands, by name."""

    async def put(self, draft: Draft) -> Document:
        """Keep a new revision. Raises RevisionMissing, RevisionStale and LimitReached."""


class Reckoner(Protocol):
    """Whoever does long work beside the live loop."""

    async def reckon(self, work: str, arguments: Mapping[str, Any]) -> Mapping[str, Any]:
        """Do what doesn't take long. Raises LimitReached and InvalidRequest."""


class Diary(Protocol):
    """Where it is told what happened, and what the time is."""

    def now(self) -> Moment:
        """The present moment."""

    def record(self, *events: Event) -> None:
        """Have events committed and then published."""

    async def settled(self) -> None:
        """Return once they are durable, or wait for the disk."""


class Surveys:
    """The scans that are kept. Reading and writing wait for the disk, beside the loop, and raise JournalUnavailable."""

    def __init__(self, documents: Drawer, reckoner: Reckoner, diary: Diary) -> None:
        self._documents = documents
        self._reckoner = reckoner
        self._diary = diary
        self._facts: dict[str, ScanFacts] | None = None
        self._reading = asyncio.Lock()

    async def all(self) -> tuple[ScanFacts, ...]:
        """Every scan without its levels, the latest taken first."""
        facts = await self._known()
        return tuple(sorted(facts.values(), key=lambda each: (-each.taken_at_utc_us, each.scan_id)))

    async def scan(self, scan_id: str) -> Scan:
        """One scan whole. Raises NotFound."""
        document = await asyncio.to_thread(self._documents.get, SCAN, scan_id)
        return await asyncio.to_thread(scan_of_object, scan_id, document.body)

    async def found(self, scan_id: str, region: str) -> ScanFound:
        """What a scan shows, on the blocks of a region where one is named. Raises NotFound."""
        blocks = region_of(region) if region else None
        return await asyncio.to_thread(found_in, await self.scan(scan_id), blocks)

    async def against(self, scan_id: str, other: str) -> ScanComparison:
        """What a scan shows otherwise than another. Raises NotFound."""
        return await asyncio.to_thread(compare, await self.scan(other), await self.scan(scan_id))

    async def keep_file(
        self, person: str, path: Path, circumstances: Circumstances, bandwidth_hz: int | None
    ) -> ScanFacts:
        """Keep the scan that a file holds, durably.

        Raises ValueRefused with the line that is wrong, LimitReached and InvalidRequest; nothing is kept then.
        """
        await self._require_room()
        about = msgspec.to_builtins(circumstances)
        asked = {"path": str(path), "circumstances": about, "bandwidth_hz": bandwidth_hz}
        read = await self._reckoner.reckon(READ_SCAN, asked)
        if "wrong" in read:
            wrong = read["wrong"]
            raise ValueRefused("survey", str(wrong["key"]), f"must hold {wrong['expected']}", {})
        body = {**read["scan"]}
        body["words"] = "; ".join(part for part in (body["words"], *read["told"]) if part)
        return await self._keep(person, scan_of_object("scan", body))

    async def keep_acts(self, person: str, found: Sequence[ScanLevels], circumstances: Circumstances) -> ScanFacts:
        """Keep what devices have sent, durably; of several acts each is a sweep.

        Raises InvalidRequest where one brought nothing, and LimitReached.
        """
        await self._require_room()
        return await self._keep(person, await asyncio.to_thread(scan_of_acts, "scan", found, circumstances))

    async def _require_room(self) -> None:
        if len(await self._known()) >= SURVEYS_MAXIMUM:
            raise LimitReached("surveys", SURVEYS_MAXIMUM)

    async def _known(self) -> dict[str, ScanFacts]:
        """The facts of every scan; only this console writes them, so that they are read from the disk once."""
        async with self._reading:
            if self._facts is None:
                kept = await asyncio.to_thread(self._documents.all_of, SCAN)
                read = await asyncio.to_thread(lambda: [_facts(_scan(each), each) for each in kept])
                self._facts = {each.scan_id: each for each in read}
        return self._facts

    async def _keep(self, person: str, scan: Scan) -> ScanFacts:
        """Keep a scan under a name of its own: where, when, and a number where that is taken."""
        known = await self._known()
        slug, number, at = slug_of(scan.place, scan.taken_at_utc_us), 1, self._diary.now()
        while True:
            name = slug if number == 1 else f"{slug}-{number}"
            number += 1
            if name in known:
                continue
            named = replace(scan, scan_id=name)
            try:
                document = await self._documents.put(Draft(SCAN, name, scan_as_object(named), None, person, at.utc_us))
                break
            except RevisionMissing:
                continue  # Somebody was quicker and has that name.
        facts = _facts(named, document)
        known[name] = facts
        self._diary.record(DocumentApplied(at, f"{SCAN}/{name}", document.revision, person))
        await self._diary.settled()
        return facts


def slug_of(place: str, taken_at_utc_us: int) -> str:
    """A name for a scan: its place and its minute, in UTC."""
    plain = re.sub(r"[^a-z0-9]+", "-", place.casefold()).strip("-")[:_SLUG_LENGTH_MAXIMUM].strip("-") or "survey"
    return f"{plain}-{time.strftime('%Y%m%d-%H%M', time.gmtime(taken_at_utc_us // _US))}"


def _scan(document: Document) -> Scan:
    return scan_of_object(document.name, document.body)


def _facts(scan: Scan, document: Document) -> ScanFacts:
    return ScanFacts(
        scan_id=scan.scan_id,
        place=scan.place,
        taken_at_utc_us=scan.taken_at_utc_us,
        instrument=scan.instrument,
        source=scan.source,
        file=scan.file,
        simulated=scan.simulated,
        calibrated=scan.calibrated,
        bandwidth_hz=scan.bandwidth_hz,
        sweeps=scan.sweeps,
        words=scan.words,
        start_hz=scan.start_hz,
        step_hz=scan.step_hz,
        points=len(scan.maximum_dbm),
        by=document.by,
        at_utc_us=document.at_utc_us,
    )
