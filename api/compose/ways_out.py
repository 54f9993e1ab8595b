"""How the programs reach devices: as a configuration allows it, and not otherwise."""

from __future__ import annotations

import ssl
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from fleet.adapters.lookup import NameLookup
from fleet.adapters.outgoing import Outgoing, no_token
from fleet.adapters.token_file import TokenFile
from fleet.config import Configuration
from fleet.errors import InvalidDocument


@dataclass(frozen=True, slots=True)
class WaysOut:
    """The one way out to devices, and the tokens that go with it; None where the configuration names no file."""

    outgoing: Outgoing
    tokens: TokenFile | None


@contextmanager
def ways_out(configuration: Configuration) -> Iterator[WaysOut]:
    """The ways out for as long as a program runs. Raises InvalidDocument for a file that can't be used."""
    tokens = None if configuration.device_tokens is None else TokenFile(configuration.device_tokens)
    trust = _trust(configuration.device_authorities)
    lookup = NameLookup()
    try:
        token_of = no_token if tokens is None else tokens.token
        yield WaysOut(Outgoing(configuration.reach, lookup, token_of, trust), tokens)
    finally:
        lookup.close()


def _trust(authorities: Path | None) -> ssl.SSLContext:
    """The machine's own trust, and the site's authorities where the configuration names them."""
    context = ssl.create_default_context()
    if authorities is not None:
        try:
            context.load_verify_locations(authorities)
        except (OSError, ssl.SSLError) as error:
            raise InvalidDocument(str(authorities), "the file", "certificates in PEM", str(error)) from error
    return context
