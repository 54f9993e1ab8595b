"""The options of ``redpoll offline``."""

from __future__ import annotations

import argparse
from pathlib import Path


def add_offline(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command to a command line."""
    parser = commands.add_parser("offline", help="an evening in one process on virtual time; prints what it came to")
    parser.add_argument("scenario", metavar="SCENARIO", help="a scenario or situation, or a scenario's TOML file")
    parser.add_argument("--seed", type=_seed, default=1, metavar="N", help="the luck of world and weather (1)")
    parser.add_argument("--minutes", type=float, default=10.0, metavar="M", help="how long the evening is (10)")
    parser.add_argument("--journal", type=Path, metavar="FILE", help="keep the journal there; the file must not exist")
    parser.add_argument("--weather", default="clear", metavar="W", help="of the links: clear, rough or a file (clear)")
    parser.add_argument("--progress", action="store_true", help="tell how far it is, terminal or not")
    parser.add_argument("--json", action="store_true", help="print the report as one line of JSON")


def _seed(text: str) -> int:
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"a seed is a whole number from 0 up, not {text!r}")
    return int(text)
