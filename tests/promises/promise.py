"""A promise and how much of it is tried: a tenth or less in the tests, the whole in a soak, more in a long one.

Trials run seed by seed until the tier's figure is reached. A soak keeps what it saw after each seed, so that one that
was interrupted goes on where it was; changed code begins anew.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
KEPT = ROOT / ".dev" / "promises"
TIER_VARIABLE = "REDPOLL_PROMISES"
SEED_VARIABLE = "REDPOLL_SEED"
MOST = "most "
"""Counts whose name begins so are merged by the greatest; all others are added."""
Seen = dict[str, float]


class Tier(StrEnum):
    TEST = "test"
    SOAK = "soak"
    LONG = "long"


TIER = Tier(os.environ.get(TIER_VARIABLE, Tier.TEST))


@dataclass(frozen=True, slots=True)
class Promise:
    """``figures`` count ``unit`` in a test, a soak and a long soak. ``within`` names the file if ``name`` doesn't."""

    name: str
    words: str
    fault: str
    unit: str
    figures: tuple[int, int, int]
    within: str = ""

    @property
    def figure(self) -> int:
        return self.figures[list(Tier).index(TIER)]

    @property
    def file(self) -> str:
        return f"tests/promises/test_{self.within or self.name}.py"


def added(one: Seen, other: Seen) -> Seen:
    names = {**one, **other}
    merge: dict[bool, Callable[[float, float], float]] = {True: max, False: lambda first, second: first + second}
    return {name: merge[name.startswith(MOST)](one.get(name, 0), other.get(name, 0)) for name in names}


def keep(promise: Promise, trial: Callable[[int], Seen]) -> Seen:
    """Run trials until the figure is reached; return what they saw together. A trial raises when it is broken."""
    only = os.environ.get(SEED_VARIABLE)
    if only is not None:
        return _tried(promise, trial, int(only))
    state = _State(promise)
    for seed in state.seeds():
        try:
            state.add(seed, _tried(promise, trial, seed))
        except Exception as error:
            state.broken(seed, error)
            raise
    print(f"{promise.name}: {state.seen}")
    return state.seen


def _tried(promise: Promise, trial: Callable[[int], Seen], seed: int) -> Seen:
    try:
        return trial(seed)
    except BaseException as error:
        error.add_note(f"{promise.name}: seed {seed}. Once more: {again(promise, seed)}")
        raise


def again(promise: Promise, seed: int) -> str:
    return f"{SEED_VARIABLE}={seed} {Path(sys.executable).parent / 'pytest'} {promise.file}"


class _State:
    """What was seen so far; on disk in a soak."""

    def __init__(self, promise: Promise) -> None:
        self._promise = promise
        self._path = KEPT / TIER / f"{promise.name}.json"
        self.seen: Seen = {}
        self._next = 1
        if TIER is not Tier.TEST:
            self._load()

    def seeds(self) -> Iterator[int]:
        while self.seen.get(self._promise.unit, 0) < self._promise.figure:
            yield self._next

    def add(self, seed: int, seen: Seen) -> None:
        if seen.get(self._promise.unit, 0) <= 0:
            raise AssertionError(f"seed {seed} tried no {self._promise.unit}: the trial proves nothing")
        self.seen, self._next = added(self.seen, seen), seed + 1
        self._keep("")

    def broken(self, seed: int, error: Exception) -> None:
        """Keep what broke the promise; the next run begins with that seed."""
        self._keep(f"seed {seed}: {type(error).__name__}: {str(error).splitlines()[0][:200] if str(error) else ''}")

    def _keep(self, broken: str) -> None:
        if TIER is Tier.TEST:
            return
        self._path.parent.mkdir(parents=True, exist_ok=True)
        kept = {"code": code_stamp(), "next": self._next, "seen": self.seen, "broken": broken}
        self._path.write_text(json.dumps(kept), encoding="utf-8")

    def _load(self) -> None:
        kept = kept_of(self._promise, TIER)
        if kept.get("code") == code_stamp():
            self._next, self.seen = kept["next"], kept["seen"]


def kept_of(promise: Promise, tier: Tier) -> dict[str, Any]:
    """What a soak kept of a promise; empty before there was one."""
    path = KEPT / tier / f"{promise.name}.json"
    kept: dict[str, Any] = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    return kept


@cache
def code_stamp() -> str:
    """The hash of everything whose change makes an old result worthless."""
    digest = hashlib.sha256()
    for folder in ("fleet", "simulator", "api", "tests/promises"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
