"""Versions of the protocol: ends that share a major version understand each other."""

from __future__ import annotations

from collections.abc import Sequence


def major_of(version: str) -> str:
    """The part before the dot."""
    return version.partition(".")[0]


def negotiate(ours: Sequence[str], theirs: Sequence[str]) -> str | None:
    """The first of ours whose major version the other end speaks too, or None."""
    majors = {major_of(version) for version in theirs}
    return next((version for version in ours if major_of(version) in majors), None)
