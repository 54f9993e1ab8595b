"""Where the console listens, under which names, and what it needs for it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fleet.bind import Bind, Tls
from fleet.config import configuration_from
from fleet.errors import InvalidDocument

TLS = {"certificate": "console.pem", "key": "key.pem"}
FILE = Path("/srv/console.toml")


def bind_of(**tables: Any) -> Bind:
    return configuration_from({"database": "journal.sqlite3", **tables}, FILE).bind


def test_without_a_word_it_is_this_machine_alone_and_plain() -> None:
    bind = bind_of()
    assert (bind.on_this_machine, bind.scheme, bind.port, bind.tls) == (True, "http", 0, None)
    assert bind.asked_for() == ("127.0.0.1", "localhost", "[::1]")


def test_beyond_this_machine_it_is_asked_for_by_its_names_and_its_address() -> None:
    bind = bind_of(bind={"host": "192.0.2.5", "port": 8471, "names": ["Console.example"]}, tls=TLS)
    assert (bind.on_this_machine, bind.scheme, bind.shown_host) == (False, "https", "console.example")
    assert bind.asked_for() == ("console.example", "192.0.2.5")
    assert bind.tls == Tls(Path("/srv/console.pem"), Path("/srv/key.pem"))


def test_everywhere_it_is_asked_for_by_its_names_and_here_by_loopback() -> None:
    bind = bind_of(bind={"host": "::", "names": ["console.example", "2001:db8::5"]}, tls=TLS)
    assert bind.asked_for()[:2] == ("console.example", "[2001:db8::5]")
    assert "localhost" in bind.asked_for()


@pytest.mark.parametrize(
    ("tables", "key", "words"),
    [
        ({"bind": {"host": "192.0.2.5"}}, "bind.host", "unless [tls] names a certificate and its key"),
        ({"bind": {"host": "0.0.0.0"}, "tls": TLS}, "bind.names", "the names under which people ask"),
        ({"bind": {"names": ["console.example:8471"]}}, "bind.names", "without a port"),
        ({"bind": {"names": ["-x"]}}, "bind.names", "names or addresses"),
        ({"bind": {"names": ["a"] * 33}}, "bind.names", "at most 32"),
        ({"tls": {"certificate": "console.pem"}}, "tls.key", "missing"),
        ({"tls": {**TLS, "password": "x"}}, "tls.password", "one of certificate, key"),
    ],
)
def test_what_would_not_be_safe_or_clear_is_refused_in_words(tables: dict[str, Any], key: str, words: str) -> None:
    with pytest.raises(InvalidDocument) as caught:
        bind_of(**tables)
    assert caught.value.key == key
    assert words in str(caught.value)
