"""An alarm's life written a second time, plainly, for one row and one rule.

The letters are those of the state table in ANSI/ISA-18.2 and IEC 62682: A normal, B unacknowledged, C acknowledged, D
returned unacknowledged; suppression by design lies over them. Timing after OPC UA Part 9, B.1.5, in whole tenths of a
second, counted over samples: one speaks for two tenths at the most, and a gap of more than five seconds starts a delay
anew.
"""

from __future__ import annotations

from dataclasses import dataclass

EVERY_TRANSITION = (
    ("normal", "unacknowledged"),
    ("unacknowledged", "acknowledged"),
    ("unacknowledged", "returned unacknowledged"),
    ("acknowledged", "normal"),
    ("returned unacknowledged", "unacknowledged"),
    ("returned unacknowledged", "normal"),
    ("unacknowledged", "suppressed by design"),
    ("acknowledged", "suppressed by design"),
    ("suppressed by design", "unacknowledged"),
    ("suppressed by design", "acknowledged"),
    ("suppressed by design", "normal"),
)
"""All changes of state that there are."""
WORDS = {"A": "normal", "B": "unacknowledged", "C": "acknowledged", "D": "returned unacknowledged"}


@dataclass
class PlainAlarm:
    limit: float
    deadband: float
    on_tenths: int
    off_tenths: int
    letter: str = "A"
    suppressed: bool = False
    holds: bool = False
    counted: int | None = None
    last: int | None = None

    def sample(self, tenth: int, value: float, quiet: bool) -> None:
        gap = 0 if self.last is None else tenth - self.last
        self.last = tenth
        if gap > 50:
            self.counted = None
        if self.holds:
            if self._counts(value >= self.limit + self.deadband, gap, self.off_tenths):
                self.letter = "A" if self.suppressed or self.letter == "C" else "D"
                self.holds, self.suppressed = False, False
        elif self._counts(value < self.limit and not quiet, gap, self.on_tenths):
            self.letter, self.holds = "B", True
        self.suppressed = self.holds and quiet

    def silence(self, tenth: int, quiet: bool) -> None:
        """No sample. Circumstances may begin to keep the alarm quiet; they let go with a sample, or after long."""
        if quiet:
            self.counted = None if not self.holds else self.counted
            self.suppressed = self.holds
        elif self.last is not None and tenth - self.last > 50:
            self.suppressed = False

    def _counts(self, wrong: bool, gap: int, needed: int) -> bool:
        if not wrong:
            self.counted = None
            return False
        self.counted = 0 if self.counted is None else self.counted + min(gap, 2)
        if self.counted < needed:
            return False
        self.counted = None
        return True

    def acknowledge(self) -> None:
        if not self.suppressed:
            self.letter = {"A": "A", "B": "C", "C": "C", "D": "A"}[self.letter]

    def restart(self, tenth: int) -> None:
        self.counted, self.last = None, tenth

    @property
    def shown(self) -> str:
        return "suppressed by design" if self.suppressed else WORDS[self.letter]
