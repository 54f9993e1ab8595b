"""The process of one job: `python -m fleet.job_child`, started by a console and by nobody else.

It reads what it shall do from its standard input, steps back behind everything else on the machine, works, and tells
how far it is on its standard output. It ends at once when the console is gone.
"""

from __future__ import annotations

import logging
import os
import sys
import threading

from fleet.clock import MICROSECONDS_PER_SECOND, SystemClock
from fleet.errors import RedpollError
from fleet.job_messages import LINE_BYTES_MAXIMUM, Answer, Broken, Told, asked_of, line_of
from fleet.job_works import WORKS
from fleet.model.job import BestSoFar

BEHIND_OTHERS = 10
"""So much nicer than the console: what watches comes first, and a solve takes what is left."""
TOLD_EVERY_S = 0.2
CHUNK_BYTES = 65_536
EXIT_ALONE = 3
"""The exit code of a process whose console is gone."""
_INPUT, _OUTPUT, _ERRORS = 0, 1, 2

_log = logging.getLogger("redpoll.job")


class Line:
    """The line to the console: what the work tells goes out, and whether it shall stop comes in."""

    def __init__(self, output: int) -> None:
        self._output = output
        self._clock = SystemClock()
        self._stop = threading.Event()
        self._told_at_s = -TOLD_EVERY_S
        self._best: BestSoFar | None = None

    @property
    def stopped(self) -> bool:
        """Whether the console asked for an end."""
        return self._stop.is_set()

    def now_s(self) -> float:
        """Seconds of the machine's monotonic clock."""
        return self._clock.monotonic_us() / MICROSECONDS_PER_SECOND

    def tell(self, progress: float, words: str, best: BestSoFar | None) -> None:
        """Say how far the work is, five times a second at the most; what falls between is told with the next."""
        if self.now_s() - self._told_at_s < TOLD_EVERY_S:
            return
        self._told_at_s = self.now_s()
        self.say(Told(progress, words, None if best is self._best else best))
        self._best = best

    def say(self, answer: Answer) -> None:
        """Send one message whole."""
        left = line_of(answer)
        while left:
            left = left[os.write(self._output, left) :]

    def listen(self, heard: bytes) -> None:
        """Wait for the word to stop, the only one there is; without a console there is nobody to work for."""
        while True:
            if heard:
                self._stop.set()
            heard = os.read(_INPUT, CHUNK_BYTES)
            if not heard:
                os._exit(EXIT_ALONE)


def main() -> int:
    """Do the one piece of work; returns the exit code."""
    os.nice(BEHIND_OTHERS)
    line = Line(os.dup(_OUTPUT))
    os.dup2(_ERRORS, _OUTPUT)  # What anybody prints by accident is no message.
    first, rest = _first_line()
    asked = asked_of(first)
    threading.Thread(target=line.listen, args=(rest,), name="console", daemon=True).start()
    try:
        done = WORKS[asked.work](asked.arguments, line)
    except RedpollError as error:
        line.say(Broken(str(error)))
    except Exception as error:  # noqa: BLE001 - whatever it is, the console is told that the work broke off.
        _log.exception("%s broke off", asked.work)
        line.say(Broken(f"the software made a mistake ({type(error).__name__}); the console's log has it", ours=True))
    else:
        line.say(done)
    return 0


def _first_line() -> tuple[bytes, bytes]:
    """What shall be done, and what was read beyond it."""
    read = bytearray()
    while b"\n" not in read:
        more = os.read(_INPUT, CHUNK_BYTES)
        if not more or len(read) > LINE_BYTES_MAXIMUM:
            sys.exit(EXIT_ALONE)
        read += more
    first, _, rest = read.partition(b"\n")
    return bytes(first), bytes(rest)


if __name__ == "__main__":
    sys.exit(main())
