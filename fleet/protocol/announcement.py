"""How a device announces itself by DNS-SD (RFC 6763): the service type, and what its TXT record says.

Pure, for both ends. What a console reads here are claims of whoever sent them; they are text, and nothing is done with
them before the device itself was asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.ids import is_device_id

SERVICE_TYPE = "_redpoll-device._tcp.local."
"""The service name is at most 15 characters long (RFC 6335 section 5.1)."""
NAME_BYTES_MAXIMUM = 63
VALUE_BYTES_MAXIMUM = 200
TEXT_MAXIMUM = 64
_PATH_BYTES_MAXIMUM = 100
_YES, _NO = "1", "0"


@dataclass(frozen=True, slots=True)
class Announcement:
    """What a device says of itself in its TXT record.

    ``device_id`` is empty where none, or none that can be one, was told; ``simulated`` None where nothing was.
    """

    device_id: str
    kind: str = ""
    simulated: bool | None = None
    secure: bool = False
    path: str = "/"


def properties_of(announcement: Announcement) -> dict[str, str]:
    """The TXT record of an announcement; its keys are short, as RFC 6763 section 6.4 asks."""
    said = {"txtvers": "1", "id": announcement.device_id, "kind": announcement.kind, "path": announcement.path}
    said["tls"] = _YES if announcement.secure else _NO
    if announcement.simulated is not None:
        said["sim"] = _YES if announcement.simulated else _NO
    return {key: value for key, value in said.items() if value}


def announcement_of(properties: Mapping[bytes, bytes | None]) -> Announcement:
    """What a TXT record says, as far as it can be believed to say anything; the rest is left out."""
    device_id = _text(properties, b"id")
    path = _text(properties, b"path", _PATH_BYTES_MAXIMUM)
    return Announcement(
        device_id=device_id if is_device_id(device_id) else "",
        kind=plain(_text(properties, b"kind")),
        simulated={_YES: True, _NO: False}.get(_text(properties, b"sim")),
        secure=_text(properties, b"tls") == _YES,
        path=path if path.startswith("/") and path.isascii() and path.isprintable() else "/",
    )


def plain(text: str) -> str:
    """A text of somebody else's for people to read: one line, at most 64 characters, nothing that doesn't print."""
    return "".join(character if character.isprintable() else "\ufffd" for character in text[:TEXT_MAXIMUM])


def _text(properties: Mapping[bytes, bytes | None], key: bytes, most: int = VALUE_BYTES_MAXIMUM) -> str:
    value = properties.get(key) or b""
    return value.decode("utf-8", "replace") if len(value) <= most else ""
