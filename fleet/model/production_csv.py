"""The cast of a production as CSV: number, part, zone, channel, pack, spare, owner.

A cell that a spreadsheet would take for a formula is written with an apostrophe before it, and read without.
"""

from __future__ import annotations

import csv
import io
from dataclasses import replace

from fleet.errors import InvalidDocument
from fleet.model.csv_cell import neutral, plain
from fleet.model.document_reader import Table
from fleet.model.production import Position, Production
from fleet.model.production_checks import check_production
from fleet.model.production_json import POSITION_KEYS, read_position
from fleet.model.production_read import POSITIONS_MAXIMUM

CELL_LENGTH_MAXIMUM = 400
_YES, _NO = "yes", "no"


def write_cast(production: Production) -> str:
    """The rows of a production as CSV (RFC 4180), a header first."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(POSITION_KEYS)
    for row in production.positions:
        spare = _YES if row.spare else _NO
        cells = (str(row.number), row.part, row.zone, row.channel, row.pack or "", spare, row.owner)
        writer.writerow([neutral(cell) for cell in cells])
    return out.getvalue()


def read_cast(text: str, file: str, production: Production) -> Production:
    """That production with the rows of a CSV in place of its own, and the zones that they name.

    Zones that stood before keep their order, those without a row go. Raises InvalidDocument with the line and column;
    also when a cue, a sleep or a swap names a number that is gone.
    """
    rows = _rows(text, file)
    named = dict.fromkeys(row.zone for row in rows)
    kept = [zone for zone in production.zones if zone in named]
    zones = (*kept, *(zone for zone in named if zone not in kept))
    changed = replace(production, zones=zones, positions=rows)
    check_production(changed, file)
    return changed


def _rows(text: str, file: str) -> tuple[Position, ...]:
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    try:
        lines = [(reader.line_num, cells) for cells in reader if cells]
    except csv.Error as error:
        raise InvalidDocument(file, f"line {reader.line_num}", f"CSV ({error})") from error
    if not lines or [cell.strip() for cell in lines[0][1]] != list(POSITION_KEYS):
        raise InvalidDocument(file, "line 1", f"the header {','.join(POSITION_KEYS)}", lines[0][1] if lines else "")
    if len(lines) - 1 > POSITIONS_MAXIMUM:
        raise InvalidDocument(file, "(the whole file)", f"at most {POSITIONS_MAXIMUM} rows", len(lines) - 1)
    return tuple(_row(cells, number, file) for number, cells in lines[1:])


def _row(cells: list[str], line: int, file: str) -> Position:
    path = f"line {line}"
    if len(cells) != len(POSITION_KEYS) or any(len(cell) > CELL_LENGTH_MAXIMUM for cell in cells):
        raise InvalidDocument(file, path, f"{len(POSITION_KEYS)} cells of at most {CELL_LENGTH_MAXIMUM} characters")
    said = dict(zip(POSITION_KEYS, (plain(cell) for cell in cells), strict=True))
    said.update((name, said[name].strip()) for name in ("number", "channel", "pack", "spare"))
    values: dict[str, object] = {name: cell for name, cell in said.items() if cell}
    number = said["number"]
    values["number"] = int(number) if number.isascii() and number.isdecimal() and len(number) <= 6 else number
    if said["spare"] not in {_YES, _NO, ""}:
        raise InvalidDocument(file, f"{path}.spare", f"{_YES} or {_NO}", said["spare"])
    values["spare"] = said["spare"] == _YES
    return read_position(Table(values, file, path))
