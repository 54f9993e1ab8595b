"""The options of ``redpoll scan``."""

from __future__ import annotations

import argparse
from pathlib import Path


def add_scan(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to a command line."""
    scan = commands.add_parser("scan", help="reads a survey of the spectrum from a file and says what it shows")
    what = scan.add_subparsers(dest="what", required=True, metavar="import")
    read = what.add_parser("import", help="what a file of frequencies and levels holds, and what to keep out of")
    read.add_argument("file", type=Path, metavar="FILE", help="frequencies and levels, in CSV")
    read.add_argument("--place", default="", metavar="WORDS", help="where it was taken")
    read.add_argument("--instrument", default="", metavar="WORDS", help="with what it was taken")
    read.add_argument("--taken-at", default="", metavar="TIME", help="when: ISO 8601 with an offset (the file's own)")
    read.add_argument("--bandwidth", type=int, metavar="HZ", help="what each level was measured in")
    read.add_argument("--region", default="", metavar="NAME", help="whose broadcast blocks are looked for")
    read.add_argument("--json", action="store_true", help="one line of JSON instead: the scan and what it shows")
