"""How far acts are and what scans have found; latest wins, changes handed out once a tick."""

from __future__ import annotations

from collections import OrderedDict

from fleet.model.act import ActProgress, LevelStretch, ProgressView, ScanLevels

SCANS_MAXIMUM = 8
"""Scans whose levels are kept; the oldest makes room."""
LEVELS_MAXIMUM = 262_144
"""Levels of one scan; more are counted and left out. A gigahertz in steps of 4 kHz has as many."""
WORDS_LENGTH_MAXIMUM = 200


class ProgressBook:
    """The progress of acts by command, for as long as their commands are remembered."""

    def __init__(self) -> None:
        self._scans: OrderedDict[str, list[LevelStretch]] = OrderedDict()
        self._counts: dict[str, int] = {}
        self._left_out: dict[str, int] = {}
        self._changed: dict[str, ProgressView] = {}

    def note(self, progress: ActProgress) -> None:
        """Take in how far an act is."""
        if progress.levels is not None:
            self._keep(progress.command_id, progress.levels)
        stretches = len(self._scans.get(progress.command_id, ()))
        words = progress.words[:WORDS_LENGTH_MAXIMUM]
        self._changed[progress.command_id] = ProgressView(progress.fraction, words, stretches)

    def levels(self, command_id: str) -> ScanLevels | None:
        """What a scan has found so far, or None when nothing is known of it."""
        found = self._scans.get(command_id)
        if found is None:
            return None
        return ScanLevels(command_id, tuple(found), self._left_out.get(command_id, 0))

    def drain(self) -> dict[str, ProgressView]:
        """What changed since the last call."""
        changed, self._changed = self._changed, {}
        return changed

    def _keep(self, command_id: str, stretch: LevelStretch) -> None:
        if command_id not in self._scans and len(self._scans) >= SCANS_MAXIMUM:
            gone, _ = self._scans.popitem(last=False)
            self._counts.pop(gone, None)
            self._left_out.pop(gone, None)
        found = self._scans.setdefault(command_id, [])
        count = self._counts.get(command_id, 0) + len(stretch.levels_dbm)
        if count > LEVELS_MAXIMUM:
            self._left_out[command_id] = self._left_out.get(command_id, 0) + len(stretch.levels_dbm)
            return
        self._counts[command_id] = count
        found.append(stretch)
