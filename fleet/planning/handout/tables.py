"""A plan as CSV and as JSON, for people and programs that go on with it."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable

import msgspec

from fleet.model.csv_cell import neutral
from fleet.model.plan import Plan
from fleet.planning.coordination.caution import CAUTION

COLUMNS = ("group", "zone", "frequency_hz", "use", "channel")


def plan_as_csv(plan: Plan) -> str:
    """Carriers and then spares as CSV (RFC 4180), a header first; the caution stands in a column of its own at the end.

    ``use`` is carrier, or spare with its rank.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([*COLUMNS, "caution"])
    for index, row in enumerate(_rows(plan)):
        writer.writerow([*(neutral(cell) for cell in row), CAUTION if index == 0 else ""])
    return out.getvalue()


def _rows(plan: Plan) -> Iterable[tuple[str, ...]]:
    for carrier in sorted(plan.carriers, key=lambda each: each.frequency_hz):
        yield carrier.group, carrier.zone, str(carrier.frequency_hz), "carrier", carrier.channel or ""
    for spare in sorted(plan.spares, key=lambda each: each.rank):
        yield spare.group, spare.zone, str(spare.frequency_hz), f"spare {spare.rank}", ""


def plan_as_json(plan: Plan) -> str:
    """The whole plan with the caution, in the members that the API has."""
    return json.dumps({**msgspec.to_builtins(plan), "caution": CAUTION}, ensure_ascii=False, indent=1) + "\n"
