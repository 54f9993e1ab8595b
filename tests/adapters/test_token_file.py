"""Device tokens: kept apart, for their owner alone, written whole, and never repeated."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from fleet.adapters.token_file import TOKENS_MAXIMUM, TokenFile, is_token
from fleet.errors import InvalidDocument, LimitReached, NotFound

PASSPHRASE = "lamplight-over-tern-rock"


def test_what_is_kept_is_there_after_a_restart_and_only_its_owner_may_read_it(tmp_path: Path) -> None:
    path = tmp_path / "tokens.json"
    TokenFile(path).put("quay", PASSPHRASE)
    assert stat.S_IMODE(path.stat().st_mode) == stat.S_IRUSR | stat.S_IWUSR
    again = TokenFile(path)
    assert (again.names(), again.token("quay"), again.token("house")) == (("quay",), PASSPHRASE, None)
    again.remove("quay")
    assert TokenFile(path).names() == ()
    assert PASSPHRASE not in path.read_text()
    with pytest.raises(NotFound):
        again.remove("quay")
    assert [each.name for each in tmp_path.iterdir()] == ["tokens.json"]


def test_a_file_that_others_may_read_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "tokens.json"
    TokenFile(path).put("quay", PASSPHRASE)
    path.chmod(0o640)
    with pytest.raises(InvalidDocument, match="only its owner"):
        TokenFile(path)


@pytest.mark.parametrize(
    "text", [f'{{"quay": "{PASSPHRASE}"', f'{{"quay": ["{PASSPHRASE}"]}}', f'{{"Not A Name": "{PASSPHRASE}"}}']
)
def test_a_wrong_file_is_refused_without_a_word_of_it(tmp_path: Path, text: str) -> None:
    path = tmp_path / "tokens.json"
    path.write_text(text)
    path.chmod(0o600)
    with pytest.raises(InvalidDocument) as raised:
        TokenFile(path)
    assert PASSPHRASE not in f"{raised.value}{raised.value.__cause__}{raised.value.found}"


def test_a_change_that_can_not_be_written_changes_nothing(tmp_path: Path) -> None:
    kept = TokenFile(tmp_path / "gone" / "tokens.json")
    with pytest.raises(OSError, match="No such file"):
        kept.put("quay", PASSPHRASE)
    assert kept.names() == ()


def test_there_is_room_for_so_many(tmp_path: Path) -> None:
    path = tmp_path / "tokens.json"
    path.write_text("{" + ", ".join(f'"q{number}": "a"' for number in range(TOKENS_MAXIMUM)) + "}")
    path.chmod(0o600)
    kept = TokenFile(path)
    kept.put("q0", "b")
    with pytest.raises(LimitReached):
        kept.put("one-more", "a")


@pytest.mark.parametrize(
    ("text", "good"), [("abc", True), ("a+/~._-==", True), ("a b", False), ("", False), ("=", False)]
)
def test_only_what_a_header_may_hold_is_a_token(text: str, good: bool) -> None:
    """The form is that of RFC 6750 section 2.1."""
    assert is_token(text) is good
