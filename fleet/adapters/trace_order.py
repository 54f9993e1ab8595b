"""Whether each line of a trace makes sense after those before it."""

from __future__ import annotations

from fleet.adapters.trace import ContactLine, Entry, LayoutLine, ObservationLine

LAYOUTS_MAXIMUM = 4_096
"""Layouts in one recording; a recording of more ends there."""


class Order:
    """Takes the lines in turn."""

    def __init__(self, began_us: int) -> None:
        self._last_us = began_us
        self._introduced = False
        self._cells: dict[int, int] = {}

    def check(self, entry: Entry) -> None:
        """Raise ValueError, saying why, when this line can't follow those before it."""
        if entry.monotonic_us < self._last_us:
            raise ValueError("time runs backwards")
        self._last_us = entry.monotonic_us
        match entry:
            case ContactLine():
                self._check_contact(entry)
            case LayoutLine():
                self._check_layout(entry)
            case ObservationLine():
                self._check_observation(entry)
            case _:
                return

    def _check_contact(self, line: ContactLine) -> None:
        if line.description is None and not self._introduced:
            raise ValueError("a heartbeat before the device was introduced")
        self._introduced = True

    def _check_layout(self, line: LayoutLine) -> None:
        if line.number in self._cells:
            raise ValueError(f"layout {line.number} stands here a second time")
        if len(self._cells) >= LAYOUTS_MAXIMUM:
            raise ValueError(f"more than {LAYOUTS_MAXIMUM} layouts")
        self._cells[line.number] = len(line.cells)

    def _check_observation(self, line: ObservationLine) -> None:
        if not self._introduced:
            raise ValueError("an observation before the device was introduced")
        frame = line.frame
        if frame is None:
            return
        cells = self._cells.get(frame.layout)
        if cells is None:
            raise ValueError(f"a frame of layout {frame.layout}, which no line before gives")
        if len(frame.values) != cells:
            raise ValueError(f"a frame of {len(frame.values)} values where the layout has {cells}")
        if frame.qualities is not None and len(frame.qualities) != cells:
            raise ValueError(f"a frame of {len(frame.qualities)} qualities where the layout has {cells}")
