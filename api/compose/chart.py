"""The command ``redpoll chart``: finds frequencies for a request, and holds a plan against one."""

from __future__ import annotations

import csv
import io
import json
import signal
import sys
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

from fleet.clock import MICROSECONDS_PER_SECOND, SystemClock
from fleet.errors import InvalidDocument
from fleet.model.csv_cell import neutral, plain
from fleet.planning.coordination.caution import CAUTION
from fleet.planning.coordination.found import Found
from fleet.planning.coordination.plan import Carrier, Verdict, check, missing
from fleet.planning.coordination.reading import read_request
from fleet.planning.coordination.relaxations import Gain, gains
from fleet.planning.coordination.request import Request
from fleet.planning.coordination.search import search

EXIT_GOOD = 0
EXIT_FAULTS = 1
Outcome = tuple[Found, tuple[Gain, ...]]
# What is left of the time says what relaxations would gain.
SEARCH_SHARE = 0.8
COLUMNS = ("group", "zone", "frequency_hz")
SPARE = "spare"
DIGITS_MAXIMUM = 11
_HZ_PER_MHZ = 1e6


def load_request(file: Path) -> Request:
    """The request in a file.

    Raises InvalidDocument with file, key and what was expected.
    """
    try:
        return read_request(file.read_text(encoding="utf-8"), str(file))
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidDocument(str(file), "file", "a readable TOML file", str(error)) from error


@dataclass(frozen=True, slots=True)
class Effort:
    """How a plan is searched for: by what luck, and how long at the most; ``steps`` 0 means by the time alone."""

    seed: int
    seconds: float
    steps: int = 0


def find(file: Path, effort: Effort, *, as_json: bool) -> int:
    """Find a plan and print it; returns the exit code. Ctrl-C ends the search with the best so far."""
    request, began_s = load_request(file), _now_s()
    stopped = [False]

    def over(share: float) -> bool:
        return stopped[0] or _now_s() - began_s >= share * effort.seconds

    def should_stop(best: Found) -> bool:
        return over(SEARCH_SHARE) or 0 < effort.steps <= best.steps

    def told(best: Found) -> None:
        words = f"{len(best.carriers)} of {best.asked} after {best.steps} steps and {_now_s() - began_s:.2f} s"
        sys.stderr.write(f"redpoll: {words}; Ctrl-C keeps the best\n")

    def work() -> tuple[Found, tuple[Gain, ...]]:
        best = search(request, effort.seed, should_stop, told)
        return best, gains(request, best, effort.seed, lambda: over(1.0))

    best, gained = _interruptible(work, stopped)
    took_s = _now_s() - began_s
    if as_json:
        sys.stdout.write(json.dumps(_body(request, best, gained, (effort.seed, took_s))) + "\n")
    else:
        sys.stdout.write(_in_words(request, best, gained, took_s))
    return EXIT_GOOD


def _body(request: Request, best: Found, gained: tuple[Gain, ...], effort: tuple[int, float]) -> dict[str, object]:
    seed, took_s = effort
    return {
        "complete": best.complete,
        "carriers": [_row(request, carrier) for carrier in best.carriers],
        "spares": [_row(request, carrier) for carrier in best.spares],
        "worst_margin_hz": best.worst_margin_hz,
        "at_most": best.at_most,
        "relaxations": [asdict(gain) for gain in gained],
        "seed": seed,
        "steps": best.steps,
        "seconds": round(took_s, 3),
    }


def check_plan(plan: Path, file: Path, *, as_json: bool) -> int:
    """Hold a plan against a request and say what it breaks; returns the exit code, 1 where it breaks anything."""
    request = load_request(file)
    carriers = load_plan(plan, request)
    verdict, lacks = check(request, carriers), missing(request, carriers)
    if as_json:
        faults = [asdict(fault) for fault in verdict.faults]
        body = {
            "faults": faults,
            "missing": lacks,
            "worst_margin_hz": verdict.worst_margin_hz,
            "worst_ratio_db": verdict.worst_ratio_db,
        }
        sys.stdout.write(json.dumps(body) + "\n")
    else:
        sys.stdout.write(_verdict_in_words(verdict, lacks))
    return EXIT_FAULTS if verdict.faults or lacks else EXIT_GOOD


def load_plan(file: Path, request: Request) -> tuple[Carrier, ...]:
    """A plan in CSV with the columns group, zone and frequency_hz; rows whose ``use`` is a spare are left out.

    Raises InvalidDocument with the line and what was expected there.
    """
    try:
        with file.open(encoding="utf-8", newline="") as opened:
            reader = csv.DictReader(opened)
            header, rows = list(reader.fieldnames or ()), list(reader)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise InvalidDocument(str(file), "file", "a readable CSV file", str(error)) from error
    if not set(COLUMNS) <= set(header) or len(set(header)) < len(header):
        raise InvalidDocument(str(file), "line 1", f"the columns {', '.join(COLUMNS)}, each once", ", ".join(header))
    groups = {group.name: index for index, group in enumerate(request.group)}
    carriers: list[Carrier] = []
    for number, row in enumerate(rows, start=2):
        if (row.get("use") or "").startswith(SPARE):
            continue
        carrier = _read_row(f"{file}", number, row, (groups, request))
        if carrier in carriers:
            raise InvalidDocument(str(file), f"line {number}", "each carrier once", row["frequency_hz"])
        carriers.append(carrier)
    return tuple(carriers)


def _read_row(file: str, number: int, row: dict[str, str], known: tuple[dict[str, int], Request]) -> Carrier:
    groups, request = known
    key = f"line {number}"
    if None in row or None in row.values():
        raise InvalidDocument(file, key, "as many cells as there are columns", "more" if None in row else "less")
    row = {**row, "group": plain(row["group"]), "zone": plain(row["zone"])}
    if row["group"] not in groups:
        raise InvalidDocument(file, f"{key}, group", f"one of {', '.join(groups)}", row["group"])
    if row["zone"] != request.group[groups[row["group"]]].zone:
        raise InvalidDocument(file, f"{key}, zone", f"{request.group[groups[row['group']]].zone}", row["zone"])
    text = row["frequency_hz"].strip()
    is_frequency = text.isascii() and text.isdecimal() and len(text) <= DIGITS_MAXIMUM and int(text) > 0
    if not is_frequency or int(text) % request.raster_hz:
        expected = f"a multiple of {request.raster_hz}, in Hz, of {DIGITS_MAXIMUM} digits at the most"
        raise InvalidDocument(file, f"{key}, frequency_hz", expected, text[:40])
    return Carrier(groups[row["group"]], int(text) // request.raster_hz)


def _row(request: Request, carrier: Carrier) -> dict[str, object]:
    group = request.group[carrier.group]
    return {"group": group.name, "zone": group.zone, "frequency_hz": carrier.point * request.raster_hz}


def _in_words(request: Request, best: Found, gained: tuple[Gain, ...], took_s: float) -> str:
    """The plan as CSV; what is to be said of it goes to standard error."""
    placed = f"{len(best.carriers)} of {best.asked} carriers, {len(best.spares)} of {best.spares_asked} spares"
    said = [f"{placed}, worst margin {_margin(best.worst_margin_hz)}, {best.steps} steps, {took_s:.2f} s"]
    if not best.complete and best.at_most is not None:
        said.append(f"no plan holds more than {best.at_most}")
    said += [f"{gain.gain} more with {gain.words}" for gain in gained if gain.gain]
    if not best.complete and not gained:
        said.append("no time was left to try what could be given up; give it more --seconds")
    if gained and not any(gain.gain for gain in gained):
        said.append(f"none of {len(gained)} relaxations, each alone, brought one more in so short a search")
    said += [
        f"spare {rank}: {_row(request, spare)['group']} {spare.point * request.raster_hz / _HZ_PER_MHZ:.3f} MHz"
        for rank, spare in enumerate(best.spares, start=1)
    ]
    sys.stderr.write("".join(f"redpoll: {words}\n" for words in (*said, CAUTION)))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for carrier in best.carriers:
        writer.writerow([neutral(str(value)) for value in _row(request, carrier).values()])
    return out.getvalue()


def _verdict_in_words(verdict: Verdict, lacks: tuple[str, ...]) -> str:
    lines = [
        f"{fault.frequency_hz / _HZ_PER_MHZ:.3f} MHz: {fault.rule}, short by "
        + (f"{fault.short_db:g} dB" if fault.short_db else f"{fault.short_hz} Hz")
        for fault in verdict.faults
    ]
    lines += lacks
    lines.append(f"{len(verdict.faults)} faults, worst margin {_margin(verdict.worst_margin_hz)}")
    return "\n".join([*lines, CAUTION]) + "\n"


def _margin(margin_hz: int | None) -> str:
    return "none, for nothing is near anything" if margin_hz is None else f"{margin_hz} Hz"


def _now_s() -> float:
    return SystemClock().monotonic_us() / MICROSECONDS_PER_SECOND


def _interruptible(work: Callable[[], Outcome], stopped: list[bool]) -> Outcome:
    """Do work during which Ctrl-C sets a mark instead of ending everything."""

    def stop(number: int, frame: object) -> None:
        del number, frame
        stopped[0] = True

    before = signal.signal(signal.SIGINT, stop)
    try:
        return work()
    finally:
        signal.signal(signal.SIGINT, before)
