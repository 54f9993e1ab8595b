"""What the house tests look at: the files that belong to the project."""

from __future__ import annotations

import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("fleet", "simulator", "api")


def project_files() -> list[Path]:
    """Return every file that git tracks or would track, which leaves out what is built or installed."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    listing = subprocess.run(command, cwd=ROOT, capture_output=True, check=True)
    paths = [ROOT / name for name in listing.stdout.decode().split("\0") if name]
    return [path for path in paths if path.is_file()]


def text_of(path: Path) -> str:
    """Return a file's text, or nothing for a picture, a font or another file that holds none."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return ""


def shown(path: Path) -> str:
    """Return a path as a person would write it, from the top of the repository."""
    return path.relative_to(ROOT).as_posix()
