"""Passwords: what is kept of them, and what it costs to try one.

Argon2id with the second recommended option of RFC 9106, section 4: 3 passes over 64 MiB in 4 lanes.
"""

from __future__ import annotations

import asyncio
import secrets
import unicodedata
from functools import partial
from typing import TypeVar

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from argon2.profiles import RFC_9106_LOW_MEMORY

from fleet.errors import LimitReached
from fleet.model.person import name_key

LENGTH_MINIMUM = 12
"""Common practice where a password is the only thing that is asked for."""
LENGTH_MAXIMUM = 256
AT_ONCE = 2
"""Each hash takes 64 MiB and a good part of a core, which the watch needs more."""
WAITING_MAXIMUM = 16
Result = TypeVar("Result")


def password_hasher() -> PasswordHasher:
    """The hasher of a console; tests may take a cheaper one."""
    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


def password_problem(password: str, name: str) -> str | None:
    """Why nobody should log in by that password, or None. Length counts, not what it is made of."""
    if not LENGTH_MINIMUM <= len(password) <= LENGTH_MAXIMUM:
        return f"a password has {LENGTH_MINIMUM} to {LENGTH_MAXIMUM} characters; a few words in a row are good"
    if len(set(password)) == 1 or name_key(name) in name_key(password):
        return "a password is not one character over and over, and doesn't contain the person's name"
    return None


class Passwords:
    """Hashes and tries passwords in threads, two at once; at most 16 wait, the next is refused."""

    def __init__(self, hasher: PasswordHasher | None = None) -> None:
        self._hasher = hasher or password_hasher()
        self._at_once = asyncio.Semaphore(AT_ONCE)
        self._waiting = 0
        self._nobody_s = ""

    async def hashed(self, password: str) -> str:
        """What is kept of a password. Raises LimitReached."""
        return await self._in_turn(partial(self._hasher.hash, _plain(password)))

    async def fits(self, password: str, kept: str | None) -> bool:
        """Whether a password is the one of which ``kept`` is left. Raises LimitReached.

        None, for a name that nobody bears, costs the same work and never fits.
        """
        if kept is None and not self._nobody_s:
            self._nobody_s = await self.hashed(secrets.token_urlsafe())
        found: bool = await self._in_turn(partial(self._verify, kept or self._nobody_s, _plain(password)))
        return found and kept is not None

    def is_dated(self, kept: str) -> bool:
        """Whether the hash was made with less work than is asked for now."""
        return self._hasher.check_needs_rehash(kept)

    def _verify(self, kept: str, password: bytes) -> bool:
        try:
            return self._hasher.verify(kept, password)
        except (VerificationError, InvalidHashError):
            return False

    async def _in_turn(self, work: partial[Result]) -> Result:
        if self._waiting >= WAITING_MAXIMUM:
            raise LimitReached("passwords that are tried", WAITING_MAXIMUM)
        self._waiting += 1
        try:
            async with self._at_once:
                return await asyncio.to_thread(work)
        finally:
            self._waiting -= 1


def _plain(password: str) -> bytes:
    """The same bytes however a keyboard composes a letter (NFKC, as NIST SP 800-63B asks)."""
    return unicodedata.normalize("NFKC", password).encode("utf-8")
