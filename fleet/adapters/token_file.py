"""The devices' bearer tokens: in a file of their own that nobody else reads, never in the database, and write-only.

Names of tokens are shown; tokens never are, except to the device they are for.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Mapping
from pathlib import Path

import msgspec

from fleet.errors import InvalidDocument, LimitReached, NotFound

TOKENS_MAXIMUM = 256
TOKEN_MAXIMUM = 1_024
FILE_BYTES_MAXIMUM = 1_048_576
_NAME = re.compile(r"[a-z0-9._-]{1,64}\Z")
_TOKEN = re.compile(r"[A-Za-z0-9._~+/-]{1,1024}=*\Z")  # RFC 6750 section 2.1
_EXPECTED = "one JSON object of names and tokens"


def is_token_name(text: str) -> bool:
    """Whether a token may be kept under that name."""
    return _NAME.match(text) is not None


def is_token(text: str) -> bool:
    """Whether that can be sent as a bearer token (RFC 6750 section 2.1)."""
    return len(text) <= TOKEN_MAXIMUM and _TOKEN.match(text) is not None


class TokenFile:
    """Tokens by name, kept in one file that only its owner may read; every change is written whole, or not at all."""

    def __init__(self, path: Path) -> None:
        """Read the file where there is one. Raises InvalidDocument, without repeating what stands in it."""
        self._path = path
        self._tokens: dict[str, str] = _read(path)

    def names(self) -> tuple[str, ...]:
        """The names under which tokens are kept, sorted."""
        return tuple(sorted(self._tokens))

    def token(self, name: str) -> str | None:
        """The token of that name, or None."""
        return self._tokens.get(name)

    def put(self, name: str, token: str) -> None:
        """Keep a token, in the place of an earlier one of that name. Raises LimitReached and OSError."""
        if name not in self._tokens and len(self._tokens) >= TOKENS_MAXIMUM:
            raise LimitReached("device tokens", TOKENS_MAXIMUM)
        self._keep({**self._tokens, name: token})

    def remove(self, name: str) -> None:
        """Forget a token. Raises NotFound and OSError."""
        if name not in self._tokens:
            raise NotFound("device token", name)
        self._keep({known: token for known, token in self._tokens.items() if known != name})

    def _keep(self, tokens: Mapping[str, str]) -> None:
        """Write beside the file and put that in its place, so that a crash leaves the old one or the new one."""
        beside = self._path.with_name(self._path.name + ".new")
        beside.unlink(missing_ok=True)
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, stat.S_IRUSR | stat.S_IWUSR)
        with os.fdopen(handle, "wb") as file:
            file.write(msgspec.json.encode(tokens, order="sorted"))
            file.flush()
            os.fsync(file.fileno())
        beside.replace(self._path)
        self._tokens = dict(tokens)


def _read(path: Path) -> dict[str, str]:
    try:
        with path.open("rb") as file:
            open_to_others = os.fstat(file.fileno()).st_mode & (stat.S_IRWXG | stat.S_IRWXO)
            data = file.read(FILE_BYTES_MAXIMUM + 1)
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise InvalidDocument(str(path), "the file", "a file that can be read", error.strerror) from error
    if open_to_others:
        raise InvalidDocument(str(path), "the file", "a file that only its owner may read (chmod 600)")
    try:
        tokens = msgspec.json.decode(data, type=dict[str, str])
    except (msgspec.DecodeError, UnicodeDecodeError):
        # What stands in it is secret, and so is what a reader would say of it.
        raise InvalidDocument(str(path), "the file", _EXPECTED) from None
    if len(tokens) > TOKENS_MAXIMUM or not all(is_token_name(name) and is_token(tokens[name]) for name in tokens):
        raise InvalidDocument(str(path), "the file", f"{_EXPECTED}, at most {TOKENS_MAXIMUM} and each well formed")
    return tokens
