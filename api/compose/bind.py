"""What must be so before the console listens: nothing is bound while it isn't."""

from __future__ import annotations

import ssl
from pathlib import Path

import sqlalchemy as sa

from fleet.bind import Bind, Tls
from fleet.config import Configuration
from fleet.errors import InvalidDocument, JournalUnavailable
from fleet.journal.people import People
from fleet.journal.writer import InlineWriter


def check_bind(configuration: Configuration, path: Path) -> None:
    """Check that TLS can be spoken, and that somebody can log in where others than this machine can reach the console.

    Raises InvalidDocument, naming the file, the key and what to do. Waits for the disk.
    """
    bind = configuration.bind
    if bind.tls is not None:
        _check_tls(bind.tls, path)
    if not bind.on_this_machine and not _somebody_can_log_in(configuration.database_url):
        raise _refused(bind, path)


def _refused(bind: Bind, path: Path) -> InvalidDocument:
    expected = (
        "an address of this machine alone, since nobody can log in yet; "
        f"let somebody in first: redpoll people add {path} NAME --role engineer"
    )
    return InvalidDocument(str(path), "bind.host", expected, bind.host)


def _check_tls(tls: Tls, path: Path) -> None:
    for name, file in (("certificate", tls.certificate), ("key", tls.key)):
        try:
            file.read_bytes()
        except OSError as error:
            raise InvalidDocument(
                str(path), f"tls.{name}", f"a file that can be read ({file})", error.strerror
            ) from error
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(tls.certificate, tls.key, password=_no_password)
    except (ssl.SSLError, ValueError) as error:
        expected = "a certificate in PEM and the key that belongs to it, not encrypted"
        raise InvalidDocument(str(path), "tls", expected, str(error)) from error


def _no_password() -> str:
    raise ValueError("the key is encrypted, and nobody is there to type its password")


def _somebody_can_log_in(database_url: str) -> bool:
    parsed = sa.make_url(database_url)
    if parsed.get_backend_name() == "sqlite" and not Path(parsed.database or "").is_file():
        return False
    people = People(database_url, InlineWriter(database_url))
    try:
        return any(not person.disabled for person in people.everybody())
    except JournalUnavailable:
        return False  # It is older than people are, or can't be read: then the console says so when it opens it.
    finally:
        people.close()
