"""The command ``redpoll scan``: reads a survey from a file and says what it shows."""

from __future__ import annotations

import argparse
import json
import signal
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import msgspec

from fleet.clock import MICROSECONDS_PER_SECOND, SystemClock
from fleet.errors import InvalidDocument, InvalidRequest, NotFound
from fleet.model.region import Region
from fleet.model.survey import Circumstances, Scan
from fleet.model.survey_found import ScanFound
from fleet.model.survey_json import scan_as_object
from fleet.planning.coordination.caution import CAUTION
from fleet.planning.spectrum.exclusions import as_toml
from fleet.planning.spectrum.found import found_in
from fleet.planning.spectrum.levels_file import FileLevels
from fleet.planning.spectrum.regions import region_of, regions
from fleet.planning.spectrum.scan import scan_of_file
from fleet.surveys import slug_of

EXIT_GOOD = 0
EXIT_STOPPED = 1
_TELL_EVERY_LINES = 500_000
_HZ_PER_MHZ = 1e6


@dataclass(frozen=True, slots=True)
class Understood:
    """What was read, and what it shows."""

    scan: Scan
    read: FileLevels
    found: ScanFound
    age_s: float


def import_scan(options: argparse.Namespace) -> int:
    """Read a file and print what it shows; returns the exit code, 1 where Ctrl-C ended it.

    Raises InvalidDocument with the line and what was expected there, and InvalidRequest for a wrong option.
    """
    region = _region(options.region)
    now_us = SystemClock().utc_us()
    about, words = _circumstances(options, now_us)
    scan_id = slug_of(about.place, about.taken_at_utc_us)
    try:
        with options.file.open("rb") as file:
            made = _interruptible(lambda stop: scan_of_file(scan_id, file, about, options.bandwidth, _telling(stop)))
    except OSError as error:
        raise InvalidDocument(str(options.file), "file", "a file that can be read", str(error)) from error
    if made is None:
        sys.stderr.write("redpoll: stopped; nothing was kept\n")
        return EXIT_STOPPED
    scan, read = made
    age_s = (now_us - about.taken_at_utc_us) / MICROSECONDS_PER_SECOND
    understood = Understood(scan, read, found_in(scan, region), age_s)
    sys.stdout.write(_as_json(understood) if options.json else _in_words(understood, words, region))
    sys.stderr.write(f"redpoll: {CAUTION}\n")
    return EXIT_GOOD


def _region(name: str) -> Region | None:
    if not name:
        return None
    try:
        return region_of(name)
    except NotFound as error:
        known = ", ".join(region.name for region in regions())
        raise InvalidRequest(f"--region: there is no {name!r}; there are {known}") from error


def _circumstances(options: argparse.Namespace, now_us: int) -> tuple[Circumstances, str]:
    """Where, when and with what, and in words from where the time is known."""
    if options.bandwidth is not None and options.bandwidth <= 0:
        raise InvalidRequest("--bandwidth: a number of hertz above 0")
    if options.taken_at:
        taken_at_us, words = _moment(options.taken_at, now_us), "as you say"
    else:
        taken_at_us, words = _written_at(options.file), "the file's own date; say --taken-at if it was another"
    place = options.place.strip() or options.file.stem
    return Circumstances(place[:128], taken_at_us, options.instrument[:128], file=options.file.name[:128]), words


def _moment(text: str, now_us: int) -> int:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InvalidRequest(f"--taken-at: a date and a time in ISO 8601, not {text!r}") from error
    if moment.tzinfo is None:
        raise InvalidRequest("--taken-at: say the offset from UTC, as in 2026-11-25T19:30:00+01:00 or …Z")
    taken_at_us = round(moment.timestamp() * MICROSECONDS_PER_SECOND)
    if not 0 <= taken_at_us <= now_us:
        raise InvalidRequest("--taken-at: a moment between 1970 and now")
    return taken_at_us


def _written_at(file: Path) -> int:
    try:
        return max(0, file.stat().st_mtime_ns // 1_000)
    except OSError as error:
        raise InvalidDocument(str(file), "file", "a file that can be read", str(error)) from error


def _telling(stop: Callable[[], bool]) -> Callable[[int], bool]:
    """Say how far the reading is, now and then, and whether it shall stop."""
    told = 0

    def should_stop(lines: int) -> bool:
        nonlocal told
        if lines - told >= _TELL_EVERY_LINES:
            told = lines
            sys.stderr.write(f"redpoll: {lines} lines read; Ctrl-C stops\n")
        return stop()

    return should_stop


def _interruptible(
    work: Callable[[Callable[[], bool]], tuple[Scan, FileLevels] | None],
) -> tuple[Scan, FileLevels] | None:
    """Do work during which Ctrl-C sets a mark instead of ending everything."""
    stopped = [False]

    def stop(number: int, frame: object) -> None:
        del number, frame
        stopped[0] = True

    before = signal.signal(signal.SIGINT, stop)
    try:
        return work(lambda: stopped[0])
    finally:
        signal.signal(signal.SIGINT, before)


def _as_json(understood: Understood) -> str:
    body = {
        "scan": scan_as_object(understood.scan),
        "told": list(understood.read.told),
        "lines": understood.read.lines,
        "age_s": round(understood.age_s),
        "found": msgspec.to_builtins(understood.found),
    }
    return json.dumps(body) + "\n"


def _in_words(understood: Understood, taken_words: str, region: Region | None) -> str:
    scan, read, found = understood.scan, understood.read, understood.found
    taken = datetime.fromtimestamp(scan.taken_at_utc_us / MICROSECONDS_PER_SECOND, UTC)
    lines = [
        f"{scan.file}: {read.lines} lines, {scan.sweeps} sweeps, {len(scan.maximum_dbm)} points",
        *(f"  {each}" for each in (*read.told, *filter(None, [scan.words]))),
        f"span:   {_mhz(scan.start_hz)} to {_mhz(scan.stop_hz)} MHz in steps of {scan.step_hz} Hz",
        f"where:  {scan.place}; with {scan.instrument or 'an instrument that nobody named'}",
        f"when:   {taken:%Y-%m-%d %H:%M} UTC, {age_in_words(understood.age_s)} ago ({taken_words})",
        f"floor:  {_floor_words(found)}",
        *(f"  {each}" for each in found.words),
        *_carrier_lines(found),
        *(_block_lines(found, region) if region else ["blocks: say --region to have them looked for"]),
        "keep out of, to paste into a request:",
        "",
        as_toml(found.exclusions) or "# nothing stands out",
    ]
    return "\n".join(lines) + "\n"


def age_in_words(age_s: float) -> str:
    """An age as people say it."""
    for unit, seconds in (("days", 86_400), ("hours", 3_600), ("minutes", 60)):
        if age_s >= 2 * seconds:
            return f"{age_s / seconds:.0f} {unit}"
    return f"{max(age_s, 0.0):.0f} seconds"


def _floor_words(found: ScanFound) -> str:
    levels = [point.floor_dbm for point in found.floor]
    if not levels:
        return "none, for nothing was measured"
    return f"{min(levels):.1f} to {max(levels):.1f} dBm; what stands {found.threshold_db:.1f} dB above it counts"


def _carrier_lines(found: ScanFound) -> list[str]:
    apart = [carrier for carrier in found.carriers if not carrier.block]
    lines = [f"carriers: {len(apart)}, beside what belongs to full blocks"]
    for each in apart:
        width_khz = (each.stop_hz - each.start_hz) / 1e3
        kind = ", wider than a microphone" if each.wide else ""
        lines.append(
            f"  {_mhz(each.peak_hz)} MHz  {each.peak_dbm:6.1f} dBm  {each.above_floor_db:4.1f} dB above  "
            f"{width_khz:.0f} kHz wide  {100 * each.occupancy:.0f} % of sweeps{kind}"
        )
    return lines


def _block_lines(found: ScanFound, region: Region) -> list[str]:
    full = [block for block in found.blocks if block.occupied]
    lines = [f"blocks: {len(full)} full of {len(found.blocks)} that the scan reaches, {region.words}"]
    for block in full:
        level = "" if block.level_dbm is None else f"  {block.level_dbm:.1f} dBm in all"
        lines.append(
            f"  {block.name}: {_mhz(block.start_hz)} to {_mhz(block.stop_hz)} MHz  {100 * (block.share or 0):.0f} % of "
            f"it above the floor{level}{'  ' + block.words if block.words else ''}"
        )
    for raster in region.rasters:
        checked = "unverified" if raster.unverified else "as read"
        lines.append(f"  raster {raster.words}: {raster.source}, {raster.dated}, {checked}")
    return lines


def _mhz(frequency_hz: int) -> str:
    return f"{frequency_hz / _HZ_PER_MHZ:.4f}"
