"""Settings every test shares."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

import hypothesis

if TYPE_CHECKING:
    from pathlib import Path

# No deadline, for a busy machine is no failure; a failing example prints how to repeat it.
hypothesis.settings.register_profile("redpoll", deadline=None, print_blob=True)
hypothesis.settings.load_profile("redpoll")


def pytest_ignore_collect(collection_path: Path) -> bool | None:
    """Leave the benchmarks to `./dev bench`: they measure, they don't judge."""
    is_bench = collection_path.name == "bench" and collection_path.parent.name == "tests"
    return True if is_bench and not os.environ.get("REDPOLL_BENCH") else None
