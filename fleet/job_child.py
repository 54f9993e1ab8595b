"""The process of one job: `python -m fleet.job_child`, started by a console and by nobody else.

It reads what it shall do from its standard input, steps back behind everything else on the machine, works, and tells
how far it is on its standard output; then it waits for more. It ends at once when the console is gone.
"""

from __future__ import annotations

import logging
import os
import queue
import threading

from fleet.clock import MICROSECONDS_PER_SECOND, SystemClock
from fleet.errors import RedpollError
from fleet.job_messages import LINE_BYTES_MAXIMUM, STOP, Answer, Asked, Broken, Told, asked_of, line_of
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
        self._asked: queue.SimpleQueue[bytes] = queue.SimpleQueue()
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

    def next_asked(self) -> Asked:
        """Wait for the next thing to do."""
        return asked_of(self._asked.get())

    def listen(self) -> None:
        """Take in what is asked, and the word to stop; without a console there is nobody to work for."""
        read = bytearray()
        while more := os.read(_INPUT, CHUNK_BYTES):
            read += more
            *lines, read = read.split(b"\n")
            for line in lines:
                if line == STOP:
                    self._stop.set()
                else:
                    self._asked.put(bytes(line))
            if len(read) > LINE_BYTES_MAXIMUM:
                break
        os._exit(EXIT_ALONE)


def main() -> None:
    """Do what is asked, one thing after the other, until the console ends this."""
    os.nice(BEHIND_OTHERS)
    line = Line(os.dup(_OUTPUT))
    os.dup2(_ERRORS, _OUTPUT)  # What anybody prints by accident is no message.
    threading.Thread(target=line.listen, name="console", daemon=True).start()
    while True:
        _do(line.next_asked(), line)


def _do(asked: Asked, line: Line) -> None:
    try:
        done = WORKS[asked.work](asked.arguments, line)
    except RedpollError as error:
        line.say(Broken(str(error)))
    except Exception as error:  # noqa: BLE001 - whatever it is, the console is told that the work broke off.
        _log.exception("%s broke off", asked.work)
        line.say(Broken(f"the software made a mistake ({type(error).__name__}); the console's log has it", ours=True))
    else:
        line.say(done)


if __name__ == "__main__":
    main()
