"""The options of ``redpoll chart``."""

from __future__ import annotations

import argparse
from pathlib import Path

SECONDS_MAXIMUM = 86_400.0


def add_chart(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to a command line."""
    chart = commands.add_parser("chart", help="finds frequencies that work together, or holds a plan against a request")
    what = chart.add_subparsers(dest="what", required=True, metavar="find | check | print | neighbours")
    find = what.add_parser("find", help="a plan for a request, as CSV on standard output")
    find.add_argument("request", type=Path, metavar="REQUEST", help="the request, in TOML")
    find.add_argument("--seed", type=_seed, default=1, metavar="N", help="the luck of the search (1)")
    find.add_argument("--seconds", type=_seconds, default=10.0, metavar="S", help="how long at the most (10)")
    find.add_argument("--steps", type=_seed, default=0, metavar="N", help="end after so many steps; 0 is by time alone")
    find.add_argument("--json", action="store_true", help="one line of JSON instead")
    check = what.add_parser("check", help="what a plan breaks of a request")
    check.add_argument("plan", type=Path, metavar="PLAN", help="the plan, in CSV: group, zone, frequency_hz")
    check.add_argument("--request", type=Path, required=True, metavar="REQUEST", help="the request, in TOML")
    check.add_argument("--json", action="store_true", help="one line of JSON instead")
    printed = what.add_parser("print", help="a plan as a page to print, as JSON, or as a list for the neighbours")
    printed.add_argument("plan", type=Path, metavar="PLAN", help="the plan, in CSV: group, zone, frequency_hz")
    printed.add_argument("--request", type=Path, required=True, metavar="REQUEST", help="the request, in TOML")
    printed.add_argument("--as", dest="form", choices=("page", "json", "neighbours"), default="page", help="page")
    printed.add_argument("--place", default="", metavar="WORDS", help="for neighbours: where this is")
    printed.add_argument("--title", default="", metavar="WORDS", help="what stands above it (the file's name)")
    theirs = what.add_parser("neighbours", help="a neighbour's list as protected carriers for a request, in TOML")
    theirs.add_argument("list", type=Path, metavar="LIST", help="the list, in JSON")
    theirs.add_argument("--raster-hz", type=_seed, default=25_000, metavar="HZ", help="of the request (25000)")


def _seed(text: str) -> int:
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"a seed is a whole number from 0 up, not {text!r}")
    return int(text)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(f"seconds are a number, not {text!r}") from error
    if not 0.0 < seconds <= SECONDS_MAXIMUM:
        raise argparse.ArgumentTypeError(f"seconds are above 0 and at most {SECONDS_MAXIMUM:g}, not {text}")
    return seconds
