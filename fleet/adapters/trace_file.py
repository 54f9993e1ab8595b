"""Traces on disk: written in parts of a bounded size, read line by line, and damage said with file and line."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from fleet.adapters.trace import (
    LINE_BYTES_MAXIMUM,
    VERSION,
    Continued,
    End,
    Entry,
    Header,
    decode_entry,
    decode_header,
    encode_line,
)
from fleet.adapters.trace_order import Order
from fleet.errors import DamagedTrace, LimitReached
from fleet.model.moment import Moment

PART_BYTES_MAXIMUM = 64 << 20
PARTS_MAXIMUM = 32


def part_path(path: Path, part: int) -> Path:
    """The file of a part: the first has the recording's own name, the others its number after that."""
    return path if part == 1 else path.with_name(f"{path.name}.{part}")


class TraceWriter:
    """Writes one recording, in files that none may stand in the place of.

    A part that is full ends with a line that says so, and the next begins; when the last is full, LimitReached is
    raised and the recording has ended with that reason. Raises OSError when the disk fails.
    """

    def __init__(
        self,
        path: Path,
        header: Header,
        *,
        part_bytes: int = PART_BYTES_MAXIMUM,
        parts: int = PARTS_MAXIMUM,
    ) -> None:
        self._path = path
        self._header = header
        self._part_bytes = part_bytes
        self._parts = parts
        self._part = 1
        self._written_bytes = 0
        self._file: BinaryIO | None = None
        self._begin_part(Moment(header.monotonic_us, header.utc_us))

    @property
    def ended(self) -> bool:
        """Whether nothing more can be written."""
        return self._file is None

    def write(self, entry: Entry) -> None:
        """Write a line; once the recording has ended, nothing."""
        if self._file is None:
            return
        line = encode_line(entry)
        if self._written_bytes + len(line) > self._part_bytes:
            self._next_part(Moment(entry.monotonic_us, entry.utc_us))
        self._put(line)

    def flush(self) -> None:
        """Hand what was written to the system."""
        if self._file is not None:
            self._file.flush()

    def abandon(self) -> None:
        """Let the file go as it is: the disk failed, and what was written breaks off."""
        try:
            self._close_file()
        except OSError:
            return  # It failed before, which is why it is let go.

    def close(self, at: Moment, reason: str) -> None:
        """End the recording; harmless when it has ended."""
        if self._file is not None:
            self._put(encode_line(End(monotonic_us=at.monotonic_us, utc_us=at.utc_us, reason=reason)))
            self._close_file()

    def _next_part(self, at: Moment) -> None:
        if self._part >= self._parts:
            self.close(at, f"{self._parts} files of {self._part_bytes} bytes are full")
            raise LimitReached("the size of a recording in bytes", self._parts * self._part_bytes)
        self._put(encode_line(Continued(monotonic_us=at.monotonic_us, utc_us=at.utc_us, part=self._part + 1)))
        self._close_file()
        self._part += 1
        self._begin_part(at)

    def _begin_part(self, at: Moment) -> None:
        header = Header(
            version=VERSION,
            device_id=self._header.device_id,
            software=self._header.software,
            redacted=self._header.redacted,
            part=self._part,
            monotonic_us=at.monotonic_us,
            utc_us=at.utc_us,
        )
        self._file = part_path(self._path, self._part).open("xb")
        self._written_bytes = 0
        self._put(encode_line(header))

    def _put(self, line: bytes) -> None:
        if self._file is not None:
            self._file.write(line)
            self._written_bytes += len(line)

    def _close_file(self) -> None:
        file, self._file = self._file, None
        if file is not None:
            file.close()


class TraceReader:
    """Reads one recording, part after part. ``header`` is the first part's.

    Every method raises DamagedTrace, naming file, line and reason; what came before it was good.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._lines = _Lines(path)
        self.header = self._header_of_part(1)

    def entries(self) -> Iterator[Entry]:
        """Every line after the header, to the end of the recording."""
        part, order = 1, Order(self.header.monotonic_us)
        while True:
            line = self._lines.next()
            if line is None:
                raise self._lines.damaged("the trace breaks off here, without an end")
            entry = self._entry(line, order)
            if isinstance(entry, Continued):
                part = self._next_part(part, entry)
                continue
            yield entry
            if isinstance(entry, End):
                self.close()
                return

    def close(self) -> None:
        """Let the file go; harmless when that was done."""
        self._lines.close()

    def _next_part(self, part: int, entry: Continued) -> int:
        if entry.part != part + 1 or entry.part > PARTS_MAXIMUM:
            raise self._lines.damaged(f"part {part} can't go on as part {entry.part}")
        self._lines.close()
        self._lines = _Lines(part_path(self._path, entry.part))
        header = self._header_of_part(entry.part)
        if header.device_id != self.header.device_id:
            raise self._lines.damaged(f"it is of {header.device_id}, the part before of {self.header.device_id}")
        return entry.part

    def _header_of_part(self, part: int) -> Header:
        line = self._lines.next()
        if line is None:
            raise self._lines.damaged("the file is empty")
        try:
            header = decode_header(line)
        except ValueError as error:
            raise self._lines.damaged(f"no header of a trace: {error}") from error
        if header.part != part:
            raise self._lines.damaged(f"it is part {header.part} of a recording; give the first part")
        return header

    def _entry(self, line: bytes, order: Order) -> Entry:
        try:
            entry = decode_entry(line)
            order.check(entry)
            return entry
        except ValueError as error:
            raise self._lines.damaged(str(error)) from error


class _Lines:
    """The lines of one file, counted from 1."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._number = 0
        try:
            self._file = path.open("rb")
        except OSError as error:
            raise DamagedTrace(path.name, 1, f"the file can't be read: {error.strerror}") from error

    def next(self) -> bytes | None:
        """The next line, or None at the end of the file."""
        self._number += 1
        line = self._file.readline(LINE_BYTES_MAXIMUM + 1)
        if not line:
            return None
        if len(line) > LINE_BYTES_MAXIMUM:
            raise self.damaged(f"the line has more than {LINE_BYTES_MAXIMUM} bytes")
        if not line.endswith(b"\n"):
            raise self.damaged("the line breaks off")
        return line

    def damaged(self, reason: str) -> DamagedTrace:
        """The error for the present line."""
        self.close()
        return DamagedTrace(self._path.name, self._number, reason)

    def close(self) -> None:
        """Let the file go."""
        self._file.close()
