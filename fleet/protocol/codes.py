"""The errors a device may answer with: JSON-RPC's own and those of the device protocol."""

from __future__ import annotations

from enum import IntEnum


class ErrorCode(IntEnum):
    """The number that travels; ``word`` is the same for people and for programs that prefer words."""

    PARSE_ERROR = -32700
    INVALID_REQUEST = -32600
    UNKNOWN_METHOD = -32601
    INVALID_PARAMS = -32602
    INTERNAL_ERROR = -32603
    UNSUPPORTED = -32010
    OUT_OF_RANGE = -32011
    REFUSED = -32012
    BUSY = -32013
    UNREACHABLE = -32014
    CONFLICT = -32015
    PARTLY_DONE = -32016
    OUTCOME_UNKNOWN = -32017
    NO_COMMON_VERSION = -32018

    @property
    def word(self) -> str:
        """The code in lower-case words, as ``data.code`` carries it."""
        return self.name.lower().replace("_", " ")


MEANINGS: dict[ErrorCode, str] = {
    ErrorCode.PARSE_ERROR: "the message is not JSON, or too large or too deep; the connection ends",
    ErrorCode.INVALID_REQUEST: "the message is not one of ours, or not allowed in this state; the connection ends",
    ErrorCode.UNKNOWN_METHOD: "this device knows no such method; nothing happened",
    ErrorCode.INVALID_PARAMS: "the parameters have the wrong shape; nothing happened",
    ErrorCode.INTERNAL_ERROR: "the device failed; the outcome is to be read back",
    ErrorCode.UNSUPPORTED: "the device, or the thing addressed, can't do this at all",
    ErrorCode.OUT_OF_RANGE: "a value is beyond its range or off its step; nothing was changed",
    ErrorCode.REFUSED: "the device won't do this now; the message says why; nothing was changed",
    ErrorCode.BUSY: "try again after `data.retry_after_s` seconds; nothing was changed",
    ErrorCode.UNREACHABLE: "the thing addressed can't be reached through this device now",
    ErrorCode.CONFLICT: "the revision is not the current one; nothing was changed",
    ErrorCode.PARTLY_DONE: "`data.fields` gives a reason for each field that was not done",
    ErrorCode.OUTCOME_UNKNOWN: "the device can't tell what became of it; read it back",
    ErrorCode.NO_COMMON_VERSION: "no major version in common; `data.versions` lists the device's; the connection ends",
}


def word_of(code: int) -> str:
    """The word of a code that came over the wire; a number that nobody defined keeps its number."""
    try:
        return ErrorCode(code).word
    except ValueError:
        return f"error {code}"
