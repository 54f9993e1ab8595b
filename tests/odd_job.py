"""A process of a job that does what no good one does; its arguments say which."""

from __future__ import annotations

import os
import signal
import sys

from fleet.job_messages import Asked, Done, Told, asked_of, line_of
from fleet.model.job import BestSoFar
from fleet.model.plan import PlanCarrier

BEST = BestSoFar((PlanCarrier("House", "Quay", 470_000_000),), 2, None, 3)


def main() -> None:
    while line := sys.stdin.buffer.readline():
        do(asked_of(line))


def do(asked: Asked) -> None:
    out = sys.stdout.buffer
    match asked.arguments["does"]:
        case "babble":
            out.write(b"what is this?\n")
        case "say too much":
            out.write(b"x" * 9_000_000 + b"\n")
        case "break off":
            out.write(b'{"type":"told"')
            out.flush()
            sys.exit()
        case "end early":
            sys.stderr.write("the roof leaks\n")
            sys.exit(7)
        case "hang":
            out.write(line_of(Told(0.4, "hangs", BEST)))
            out.flush()
            signal.pause()
        case "end":
            out.write(line_of(Done("done", {"pid": os.getpid()}, BEST)))
        case _:
            raise AssertionError(asked)
    out.flush()


if __name__ == "__main__":
    main()
