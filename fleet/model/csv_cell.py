"""Cells of CSV that a spreadsheet takes for text, whatever they begin with."""

from __future__ import annotations

_APOSTROPHE = "'"
_FULL_WIDTH = "\uff1d\uff0b\uff0d\uff20"
"""=, +, - and @ as they stand in East Asian text; some spreadsheets take them as such."""
_LEADERS = tuple(f"=+-@\t\r\n{_FULL_WIDTH}{_APOSTROPHE}")


def neutral(cell: str) -> str:
    """The cell, with an apostrophe before it where a spreadsheet would take it for a formula."""
    return _APOSTROPHE + cell if cell.startswith(_LEADERS) else cell


def plain(cell: str) -> str:
    """The cell as it was before ``neutral``."""
    return cell.removeprefix(_APOSTROPHE)
