"""The support bundle: one archive of what somebody who helps needs to see, and no key, token or password in it.

What can't be had is said in the bundle itself; a console that doesn't run, or a configuration that is wrong, is when a
bundle is wanted most.
"""

from __future__ import annotations

import asyncio
import http.client
import json
import platform
import sys
import tomllib
import urllib.request
import zipfile
from collections.abc import Callable
from importlib import metadata
from pathlib import Path

from api.compose.cleaning import cleaned, cleaned_line, without_secrets
from api.compose.logs import ring_files
from fleet.config import FILE_BYTES_MAXIMUM, Configuration, read_configuration
from fleet.errors import InvalidDocument, RedpollError
from fleet.journal.reader import Reader
from fleet.model.event_json import recorded_as_object

EVENTS_MAXIMUM = 1_000
METRICS_WITHIN_S = 2.0
METRICS_BYTES_MAXIMUM = 8 << 20
PACKAGES = ("redpoll", "fastapi", "msgspec", "numpy", "pydantic", "sqlalchemy", "starlette", "uvicorn", "websockets")
Part = Callable[[], str]


class NotToBeHad(RedpollError):
    """A part of the bundle that can't be had, and why."""


async def run_bundle(configuration: Path, file: Path) -> int:
    """Write the bundle. Raises InvalidDocument when the file's name is taken, OSError when the disk fails."""
    missing = await asyncio.to_thread(write_bundle, configuration, file)
    sys.stdout.write(f"{file}: no keys, tokens or passwords, but ids and names. Look at it before you hand it on.\n")
    for name, reason in missing.items():
        sys.stdout.write(f"  without {name}: {reason}\n")
    return 0


def write_bundle(configuration: Path, file: Path) -> dict[str, str]:
    """Write the bundle; the parts that it has to do without, with the reasons."""
    parts: dict[str, Part] = {
        "configuration.json": lambda: _configuration_text(configuration),
        "versions.json": _versions_text,
        "journal.jsonl": lambda: _journal_text(read_configuration(configuration)),
        "metrics.txt": lambda: _metrics_text(read_configuration(configuration)),
        "log.jsonl": lambda: _log_text(configuration),
    }
    try:
        file.touch(mode=0o600, exist_ok=False)
    except FileExistsError as error:
        raise InvalidDocument(str(file), "the file", "a name that no file has yet") from error
    try:
        return _filled(file, parts)
    except BaseException:
        file.unlink()  # Half an archive would only mislead.
        raise


def _filled(file: Path, parts: dict[str, Part]) -> dict[str, str]:
    missing: dict[str, str] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            try:
                archive.writestr(name, part())
            except RedpollError as error:
                missing[name] = _reason(error)
        archive.writestr("missing.json", json.dumps(missing, indent=2))
    return missing


def _reason(error: RedpollError) -> str:
    """Why a part is missing, without the value that is wrong: it may be a secret in the wrong place."""
    if isinstance(error, InvalidDocument):
        return cleaned(f"{error.file}: {error.key}: expected {error.expected}")
    return cleaned(str(error))


def _configuration_text(path: Path) -> str:
    """The configuration as it stands, cleaned; also one that a console would refuse, as long as it is TOML."""
    try:
        with path.open("rb") as file:
            document = tomllib.loads(file.read(FILE_BYTES_MAXIMUM).decode())
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as error:
        raise NotToBeHad(f"the configuration can't be read ({type(error).__name__})") from error
    return json.dumps(without_secrets(document), indent=2, default=str)


def _versions_text() -> str:
    packages = {name: metadata.version(name) for name in PACKAGES}
    return json.dumps({"python": sys.version, "system": platform.platform(), "packages": packages}, indent=2)


def _journal_text(configuration: Configuration) -> str:
    """The last thousand events, oldest first."""
    file = configuration.database_url.removeprefix("sqlite:///")
    if file != configuration.database_url and not Path(file).exists():  # To ask SQLite would make an empty one.
        raise NotToBeHad("the journal isn't there; no console has run with this configuration")
    reader = Reader(configuration.database_url)
    try:
        events = reader.newest(limit=EVENTS_MAXIMUM)[::-1]
    finally:
        reader.close()
    lines = [json.dumps(without_secrets(recorded_as_object(event))) for event in events]
    return "".join(f"{line}\n" for line in lines)


def _metrics_text(configuration: Configuration) -> str:
    """What the running console's ``/metrics`` answers on this machine."""
    bind = configuration.bind
    if not bind.port:
        raise NotToBeHad("the configuration names no port, so the running console can't be found")
    if bind.tls is not None:
        where = f"{bind.scheme}://{bind.shown_host}:{bind.port}/metrics"
        raise NotToBeHad(f"a console with [tls] isn't asked for its figures here; ask it yourself, at {where}")
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        with opener.open(f"http://{bind.own_host}:{bind.port}/metrics", timeout=METRICS_WITHIN_S) as answer:
            text: str = answer.read(METRICS_BYTES_MAXIMUM).decode()
            return cleaned(text)
    except (OSError, ValueError, http.client.HTTPException) as error:
        raise NotToBeHad(f"no console answers at port {bind.port} ({error})") from error


def _log_text(configuration: Path) -> str:
    kept = [file for file in ring_files(configuration) if file.is_file()]
    if not kept:
        raise NotToBeHad("no log stands beside the configuration; no console has run with it")
    try:
        lines = [line for file in kept for line in file.read_text(encoding="utf-8", errors="replace").splitlines()]
    except OSError as error:
        raise NotToBeHad(f"the log can't be read: {error.strerror}") from error
    return "".join(f"{cleaned_line(line)}\n" for line in lines)
