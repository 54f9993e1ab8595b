"""The console's log: on standard error for whoever looks, and in a ring of two files for the support bundle.

Each line is cleaned of what looks like a key, token or password before it is written anywhere.
"""

from __future__ import annotations

import logging
import logging.handlers
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal

import msgspec

from api.compose.cleaning import cleaned

LogForm = Literal["human", "json"]
RING_BYTES = 448 << 10
"""Of each of the two files; when the newer one is full, the older one goes. The library counts characters, so a file
may be longer by one line: both together stay under 1 MiB."""
LINE_LENGTH_MAXIMUM = 8_192
_HUMAN = "%(levelname)s %(name)s: %(message)s"
_CONTROLS = {code: f"\\x{code:02x}" for code in (*range(32), *range(127, 160)) if chr(code) not in "\n\t"}
_CONTROLS |= {code: f"\\u{code:04x}" for code in (0x2028, 0x2029, *range(0x202A, 0x202F), *range(0x2066, 0x206A))}


def _bounded(text: str) -> str:
    """Cut before the cleaning too, so that a long text costs no more than a line, and after it."""
    return cleaned(text[: 2 * LINE_LENGTH_MAXIMUM])[:LINE_LENGTH_MAXIMUM]


def _bounded_traceback(text: str) -> str:
    """The same of a traceback, whose end says most."""
    return cleaned(text[-2 * LINE_LENGTH_MAXIMUM :])[-LINE_LENGTH_MAXIMUM:]


class HumanForm(logging.Formatter):
    """One line for a person, a traceback after it if there is one. No text steers a terminal or forges a line."""

    def __init__(self) -> None:
        super().__init__(_HUMAN)

    def formatMessage(self, record: logging.LogRecord) -> str:  # noqa: N802 - the library's name.
        """The line itself."""
        return _bounded(super().formatMessage(record)).translate(_CONTROLS).replace("\n", "\\n")

    def formatException(self, ei: Any) -> str:  # noqa: N802 - the library's name.
        """The traceback."""
        return _bounded_traceback(super().formatException(ei)).translate(_CONTROLS)


class JsonForm(logging.Formatter):
    """One line of JSON: ``at_utc_us``, ``level``, ``logger``, ``words`` and, where there is one, ``traceback``."""

    def format(self, record: logging.LogRecord) -> str:
        """The record, cleaned and bounded, on one line."""
        line = {
            "at_utc_us": round(record.created * 1_000_000),
            "level": record.levelname.lower(),
            "logger": record.name,
            "words": _writable(_bounded(record.getMessage())),
        }
        if record.exc_info:
            line["traceback"] = _writable(_bounded_traceback(self.formatException(record.exc_info)))
        return msgspec.json.encode(line).decode()


def _writable(text: str) -> str:
    """Half a pair of surrogates, which a name of a file or a device may hold, is no text in UTF-8."""
    return text.encode("utf-8", "backslashreplace").decode()


class _Ring(logging.handlers.RotatingFileHandler):
    """Two files; a line that they can't take is on standard error all the same, so nothing is said of it."""

    def handleError(self, record: logging.LogRecord) -> None:  # noqa: N802 - the library's name.
        """Go on without: the same line stands on standard error, and a full disk is the journal's to say."""


def log_file(configuration: Path) -> Path:
    """Where the log of a configuration's console stands: beside it."""
    return configuration.with_name(f"{configuration.name}.log")


def ring_files(configuration: Path) -> tuple[Path, ...]:
    """The files of the ring, older first."""
    newer = log_file(configuration)
    return (newer.with_name(f"{newer.name}.1"), newer)


@contextmanager
def logging_in(form: LogForm, configuration: Path) -> Iterator[None]:
    """Log to standard error in that form, and to the ring beside the configuration where that folder can be written."""
    root = logging.getLogger()
    shown = logging.StreamHandler(sys.stderr)
    shown.setFormatter(JsonForm() if form == "json" else HumanForm())
    handlers: list[logging.Handler] = [shown]
    try:
        kept = _Ring(log_file(configuration), maxBytes=RING_BYTES, backupCount=1, encoding="utf-8", delay=False)
    except OSError as error:
        shown.handle(_warning(f"The log can't be kept for a support bundle: {error.strerror}."))
    else:
        kept.setFormatter(JsonForm())
        handlers.append(kept)
    for handler in handlers:
        root.addHandler(handler)
    try:
        yield
    finally:
        for handler in handlers:
            root.removeHandler(handler)
            handler.close()


def _warning(words: str) -> logging.LogRecord:
    return logging.LogRecord("redpoll", logging.WARNING, __file__, 0, words, (), None)
