"""What ids look like, in the configuration, on the devices' wire, in addresses and at the API alike."""

from __future__ import annotations

import re

ID_PATTERN = "[a-z0-9._-]{1,64}"
"""An id, which is one part of an address."""
ADDRESS_PATTERN = f"{ID_PATTERN}(/{ID_PATTERN}){{0,4}}"
"""An address, as far as a pattern can tell; ``parse_address`` of the model knows more."""
NAME_PATTERN = "[a-z][a-z0-9_]{0,63}"
"""The name of a setting or a reading."""
COMMAND_ID_PATTERN = "[A-Za-z0-9_-]{1,64}"
"""A command's id."""
PACK = "pack"
"""The first part of every pack's address, which therefore names no device."""
_ID = re.compile(ID_PATTERN)


def is_id(text: str) -> bool:
    """Whether ``text`` may be a part of an address."""
    return _ID.fullmatch(text) is not None


def is_device_id(text: str) -> bool:
    """Whether ``text`` may name a device."""
    return is_id(text) and text != PACK
