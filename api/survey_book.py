"""What the API needs of the console's surveys; the runtime offers it, and tests may stand in for it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from fleet.model.act import ScanLevels
from fleet.model.survey import Circumstances, Scan, ScanFacts
from fleet.model.survey_found import ScanComparison, ScanFound


class SurveyBook(Protocol):
    """The scans that are kept. Each call waits for the disk and raises JournalUnavailable."""

    async def all(self) -> tuple[ScanFacts, ...]:
        """Every scan without its levels, the latest taken first."""

    async def scan(self, scan_id: str) -> Scan:
        """One scan whole. Raises NotFound."""

    async def found(self, scan_id: str, region: str) -> ScanFound:
        """What a scan shows, on the blocks of a region where one is named. Raises NotFound."""

    async def against(self, scan_id: str, other: str) -> ScanComparison:
        """What a scan shows otherwise than another. Raises NotFound."""

    async def keep_file(
        self, person: str, path: Path, circumstances: Circumstances, bandwidth_hz: int | None
    ) -> ScanFacts:
        """Keep the scan that a file holds. Raises ValueRefused with its line, LimitReached and InvalidRequest."""

    async def keep_acts(self, person: str, found: Sequence[ScanLevels], circumstances: Circumstances) -> ScanFacts:
        """Keep what devices have sent, each act a sweep. Raises InvalidRequest and LimitReached."""
