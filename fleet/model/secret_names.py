"""Which members, settings and arguments hold what must never be kept: keys, tokens and passwords, by their names."""

from __future__ import annotations

import re

_SECRET = re.compile(r"(^|.*_)(key|token|secret|password|passphrase|authorization|bearer|credential)s?$", re.IGNORECASE)


def names_a_secret(name: str) -> bool:
    """Whether a member, setting or argument of that name holds a key, a token or a password."""
    return _SECRET.match(name) is not None
