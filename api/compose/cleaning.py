"""Takes what looks like a key, token or password out of a text that somebody will read: a log, a support bundle.

It would rather take out too much than too little: what follows ``Cookie:`` or ``Authorization:`` goes to the end of the
line. The work grows with the length of the text and no faster, for a hostile device chooses some of these texts.
"""

from __future__ import annotations

import json
import re
from typing import Any

from fleet.adapters.redaction import NEVER_WRITTEN
from fleet.model.secret_names import names_a_secret

_OPENED = r"""(?!\(never written\))"""
_HEADER = re.compile(rf"""(?i)((?:cookie|authorization)\\?["']?\s?[=:,]\s?+){_OPENED}[^\r\n]+""")
_NAME = r"(?:launch|token|key|secret|password|passwd|passphrase|bearer|credential|redpoll_\d{1,5})"
_VALUE = r"""(?:\\?"[^"]*(?:"|$)|\\?'[^']*(?:'|$)|[^\s,;&"'\\]+)"""
_NAMED = re.compile(rf"""(?i)({_NAME}s?\\?["']?\s?(?:[=:]|%3[ad])\s?+b?+){_OPENED}{_VALUE}""")
_BEARER = re.compile(rf"(?i)\b(bearer|basic)\s{_OPENED}[\w.~+/=-]{{8,}}")
_USER_OF_URL = re.compile(rf"://{_OPENED}[^\s@]{{1,512}}@")
_PRIVATE_KEY = re.compile(r"-----BEGIN [A-Z0-9 ]{0,40}PRIVATE KEY-----[^-]*(?:-----END [A-Z0-9 ]{0,40}-----)?")


def cleaned(text: str) -> str:
    """The text without what looks like a key, token or password. Cleaning twice changes nothing more."""
    text = _PRIVATE_KEY.sub(NEVER_WRITTEN, text)
    text = _USER_OF_URL.sub(f"://{NEVER_WRITTEN}@", text)
    text = _HEADER.sub(rf"\1{NEVER_WRITTEN}", text)
    text = _NAMED.sub(rf"\1{NEVER_WRITTEN}", text)
    return _BEARER.sub(rf"\1 {NEVER_WRITTEN}", text)


def without_secrets(value: Any) -> Any:
    """Decoded JSON or TOML: every member with a secret's name taken out, every text cleaned."""
    if isinstance(value, dict):
        return {
            cleaned(name): NEVER_WRITTEN if names_a_secret(name) else without_secrets(one)
            for name, one in value.items()
        }
    if isinstance(value, list):
        return [without_secrets(one) for one in value]
    return cleaned(value) if isinstance(value, str) else value


def cleaned_line(line: str) -> str:
    """A line of JSON, still one when it is clean; any other line as a text."""
    try:
        return json.dumps(without_secrets(json.loads(line)), ensure_ascii=False)
    except (ValueError, RecursionError):
        return cleaned(line)
