"""The weather of a link: what becomes of messages between a console and its devices, as one record and a seed.

A line keeps its order, as a transport does that retransmits: a delay holds up what comes after it. Losses and doubles
are of whole messages, which is what a console has to bear when a device or a relay fails.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta

from fleet.errors import InvalidDocument

Seconds = Annotated[float, Meta(ge=0, le=86_400)]
Milliseconds = Annotated[float, Meta(ge=0, le=10_000)]
Share = Annotated[float, Meta(ge=0, le=0.5)]


class Outage(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """When something lasts, in seconds of the world, and of whom; nobody named is everybody."""

    from_s: Seconds
    to_s: Seconds
    devices: Annotated[tuple[str, ...], Meta(max_length=1_000)] = ()

    def covers(self, device_id: str, now_s: float) -> bool:
        """Whether it lasts now for that device."""
        return self.from_s <= now_s < self.to_s and (not self.devices or device_id in self.devices)


Outages = Annotated[tuple[Outage, ...], Meta(max_length=1_000)]


class Weather(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The whole record. Shares are of messages; ``delay_ms`` is what each takes, ``jitter_ms`` what luck adds at most.

    While ``half_open``, nothing arrives at either end and nobody is told; in a ``partition`` every connection breaks
    and none can be made.
    """

    delay_ms: Milliseconds = 0.0
    jitter_ms: Milliseconds = 0.0
    loss: Share = 0.0
    duplicate: Share = 0.0
    half_open: Outages = ()
    partition: Outages = ()

    @property
    def outages(self) -> Outages:
        """All of them."""
        return (*self.half_open, *self.partition)


CLEAR = Weather()
ROUGH = Weather(
    delay_ms=20.0,
    jitter_ms=180.0,
    loss=0.002,
    duplicate=0.002,
    half_open=(Outage(40.0, 52.0), Outage(100.0, 115.0)),
    partition=(Outage(70.0, 78.0),),
)
BY_NAME = {"clear": CLEAR, "rough": ROUGH}


def weather_of(name_or_file: str) -> Weather:
    """The weather of that name, or from a TOML file.

    Raises InvalidDocument with file, key and what was expected.
    """
    if name_or_file in BY_NAME:
        return BY_NAME[name_or_file]
    try:
        found = msgspec.convert(tomllib.loads(Path(name_or_file).read_text(encoding="utf-8")), Weather)
    except (OSError, UnicodeDecodeError) as error:
        expected = f"a readable TOML file, or one of {', '.join(BY_NAME)}"
        raise InvalidDocument(name_or_file, "file", expected, str(error)) from error
    except tomllib.TOMLDecodeError as error:
        raise InvalidDocument(name_or_file, "document", "TOML", str(error)) from error
    except msgspec.ValidationError as error:
        words, _, path = str(error).partition(" - at `$")
        raise InvalidDocument(name_or_file, path.strip("`.") or "document", "what weather can be", words) from error
    for key, outages in (("half_open", found.half_open), ("partition", found.partition)):
        for index, outage in enumerate(outages):
            if outage.to_s <= outage.from_s:
                raise InvalidDocument(name_or_file, f"{key}[{index}].to_s", "a time after from_s", outage.to_s)
    return found
