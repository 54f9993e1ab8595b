"""The console refuses to listen beyond this machine without TLS and somebody who can log in: exit 2, nothing bound."""

from __future__ import annotations

import io
import shutil
import socket
from pathlib import Path

import pytest

from api.compose.bind import check_bind
from api.compose.cli import main
from fleet.config import read_configuration
from fleet.errors import InvalidDocument

LOOPBACK = Path(__file__).parents[1] / "simulator" / "loopback"
HOST = "0.0.0.0"
PASSWORD = "a lamp at the rock\n"


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port: int = one.getsockname()[1]
    return port


def write(folder: Path, port: int, *more: str) -> Path:
    file = folder / "console.toml"
    bind = f'[bind]\nhost = "{HOST}"\nport = {port}\nnames = ["console.example"]\n'
    file.write_text('database = "journal.sqlite3"\n' + bind + "".join(more), encoding="utf-8")
    return file


def certified(folder: Path) -> str:
    """The tests' own certificate, beside the configuration."""
    shutil.copy(LOOPBACK / "certificate.pem", folder / "console.pem")
    shutil.copy(LOOPBACK / "key.pem", folder / "key.pem")
    return '[tls]\ncertificate = "console.pem"\nkey = "key.pem"\n'


def nobody_listens(port: int) -> bool:
    with socket.socket() as one:
        return one.connect_ex(("127.0.0.1", port)) != 0


def refused(file: Path, port: int, capsys: pytest.CaptureFixture[str]) -> str:
    assert main(["console", "--config", str(file)]) == 2
    assert nobody_listens(port)
    said = capsys.readouterr().err
    assert "Traceback" not in said
    return said


def test_each_thing_that_is_missing_is_refused_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    port = free_port()
    assert "unless [tls]" in refused(write(tmp_path, port), port, capsys)
    tls = '[tls]\ncertificate = "console.pem"\nkey = "key.pem"\n'
    assert "a file that can be read" in refused(write(tmp_path, port, tls), port, capsys)
    (tmp_path / "console.pem").write_text("no certificate")
    (tmp_path / "key.pem").write_text("no key")
    assert "a certificate in PEM" in refused(write(tmp_path, port, tls), port, capsys)
    file = write(tmp_path, port, certified(tmp_path))
    assert "redpoll people add" in refused(file, port, capsys)


def test_somebody_who_can_log_in_opens_it_and_their_disabling_closes_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    file = write(tmp_path, free_port(), certified(tmp_path))
    for name, role in (("Stage Left", "operator"), ("Stage Right", "viewer")):
        monkeypatch.setattr("sys.stdin", io.StringIO(PASSWORD))
        assert main(["people", "add", str(file), name, "--role", role, "--password-stdin"]) == 0
    check_bind(read_configuration(file), file)
    for name in ("Stage Left", "Stage Right"):
        assert main(["people", "disable", str(file), name]) == 0
    with pytest.raises(InvalidDocument, match="nobody can log in"):
        check_bind(read_configuration(file), file)
    said = capsys.readouterr().out
    assert "Stage Left: viewer, operator" in said
    assert PASSWORD.strip() not in said
