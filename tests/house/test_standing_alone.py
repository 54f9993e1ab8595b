"""The repository stands alone: no machine, no registry and nothing outside it is named in a file."""

from __future__ import annotations

import re
from pathlib import Path

from tests.house.tree import ROOT, project_files, shown, text_of

# Written in pieces, so that this file does not name them itself.
REFUSED = {
    "the folder of a machine": r"/(?:work|root|home)/[a-z]|/opt/(?:pypi|wheels)",
    "a folder beside the repository": r"\.\./shared\b",
    "a registry of packages": "|".join(
        re.escape(".".join(parts))
        for parts in (("pypi", "org"), ("files", "pythonhosted", "org"), ("registry", "npmjs", "org"), ("npmjs", "com"))
    ),
}
LOCKS = ("requirements.lock", "ui/package-lock.json")


def test_no_file_names_what_is_outside() -> None:
    wrong = [
        f"{shown(path)} names {what}: {found[0]}"
        for path in project_files()
        if path != Path(__file__)
        for what, pattern in REFUSED.items()
        if (found := re.search(pattern, text_of(path)))
    ]
    assert not wrong, wrong


def test_the_python_lock_names_packages_and_hashes_only() -> None:
    lock = text_of(ROOT / "requirements.lock")
    assert "://" not in lock
    assert "-index-url" not in lock
    assert "--find-links" not in lock
    pinned = re.findall(r"^[a-z0-9][^\s]*==", lock, re.MULTILINE)
    hashed = re.findall(r"^[a-z0-9][^\n]* \\\n    --hash=sha256:", lock, re.MULTILINE)
    assert len(pinned) == len(hashed) > 20


def test_the_screens_lock_names_no_address_to_fetch_from() -> None:
    lock = text_of(ROOT / "ui" / "package-lock.json")
    assert '"resolved"' not in lock
    assert '"integrity"' in lock
