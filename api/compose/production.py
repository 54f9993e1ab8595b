"""``redpoll production``: a production document checked, taken out of a console's database, and put in.

``import`` and ``export`` work on the database of a configuration while its console is not running; a running one is
asked over its API.
"""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Callable
from pathlib import Path

from fleet.clock import SystemClock
from fleet.config import read_configuration
from fleet.errors import InvalidDocument, NotFound
from fleet.journal.documents import Documents
from fleet.journal.writer import Writer
from fleet.model.production import NO_PRODUCTION, Production
from fleet.model.production_csv import read_cast, write_cast
from fleet.model.production_json import production_as_object, production_of_object
from fleet.model.production_toml import read_production, write_production
from fleet.shelf import Shelf, shipped_documents

BY = "command line"
_FORMS = ".toml, .json or .csv"


async def run_check(file: Path) -> int:
    """Read a production file and say what it holds. Raises InvalidDocument."""
    production = (await asyncio.to_thread(_read, file))(NO_PRODUCTION)
    order = production.order
    sys.stdout.write(
        f"{file.name}: {production.name}, {len(production.positions)} rows in {len(production.zones)} zones, "
        f"{len(order.acts)} acts, {len(order.cues)} cues, {len(order.sleeps)} planned sleeps\n"
    )
    return 0


async def run_export(config: Path, file: Path) -> int:
    """Write the production that stands to a file that isn't there yet. Raises InvalidDocument, NotFound and OSError."""
    write = _writer_of(file)
    async with _Shelf(config) as shelf:
        standing = await shelf.production()
    if standing is None:
        raise NotFound("production", "in that database")
    await asyncio.to_thread(_write_new, file, write(standing[0]))
    sys.stdout.write(f"revision {standing[1]} of {standing[0].name} in {file}\n")
    return 0


async def run_import(config: Path, file: Path) -> int:
    """Make a file the production that stands, as a new revision. Raises InvalidDocument; nothing was changed then."""
    change = await asyncio.to_thread(_read, file)
    async with _Shelf(config) as shelf:
        standing = await shelf.production()
        production, seen = standing or (NO_PRODUCTION, 0)
        changed = change(production)
        revision = await shelf.put_production(changed, seen, BY, SystemClock().utc_us())
    sys.stdout.write(f"{changed.name} is revision {revision}; a console shows it from its next start\n")
    return 0


class _Shelf:
    """The documents of a configuration's database, opened for one command."""

    def __init__(self, config: Path) -> None:
        url = read_configuration(config).database_url
        self._writer = Writer(url)
        self._documents = Documents(url, self._writer, shipped_documents())

    async def __aenter__(self) -> Shelf:
        await self._writer.open()
        return Shelf(self._documents)

    async def __aexit__(self, *_: object) -> None:
        self._documents.close()
        await self._writer.close()


def _read(file: Path) -> Callable[[Production], Production]:
    """What the file makes of the production that stands; a CSV replaces its cast alone."""
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidDocument(str(file), "the file", "a file in UTF-8 that can be read", str(error)) from error
    match file.suffix.lower():
        case ".toml":
            production = read_production(text, str(file))
        case ".json":
            production = production_of_object(_object(text, file), str(file))
        case ".csv":
            return lambda standing: read_cast(text, str(file), standing)
        case _:
            raise InvalidDocument(str(file), "the name", f"one that ends in {_FORMS}", file.suffix)
    return lambda _: production


def _object(text: str, file: Path) -> dict[str, object]:
    try:
        value = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        raise InvalidDocument(str(file), "(the whole file)", f"JSON ({error})") from error
    if not isinstance(value, dict):
        raise InvalidDocument(str(file), "(the whole file)", "an object")
    return value


def _writer_of(file: Path) -> Callable[[Production], str]:
    match file.suffix.lower():
        case ".toml":
            return write_production
        case ".json":
            return lambda production: json.dumps(production_as_object(production), ensure_ascii=False, indent=2) + "\n"
        case ".csv":
            return write_cast
        case _:
            raise InvalidDocument(str(file), "the name", f"one that ends in {_FORMS}", file.suffix)


def _write_new(file: Path, text: str) -> None:
    with file.open("x", encoding="utf-8", newline="") as out:
        out.write(text)
