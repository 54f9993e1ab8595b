"""No 5xx: whatever is asked of the running console, the fault is the asker's; a large body is refused unread.

Some of the cases are made from the API's own description (schemathesis), some from a list by hand.
"""

from __future__ import annotations

from functools import cache, partial
from pathlib import Path
from typing import Any
from urllib.parse import quote

import httpx2
import hypothesis
import numpy as np
import schemathesis
from hypothesis import HealthCheck
from schemathesis.core.result import Ok

from api.door import BODY_BYTES_MAXIMUM
from tests.api.conftest import PORT, make_stage
from tests.api.test_body import HOSTILE
from tests.api.test_door import Caller, pass_door
from tests.api.test_whole import House, house
from tests.promises.hostile_names import NAMES
from tests.promises.promise import MOST, Promise, Seen, keep
from tests.virtual_time import run_virtual

PROMISE = Promise(
    "no_5xx",
    "no 5xx; 413 above 1 MiB before buffering",
    "cases from the API's description, hostile bodies, headers, queries and paths; bodies without end",
    "cases",
    (200, 2_000, 100_000),
)
DESCRIBED, BY_HAND = 25, 170
LEAVING = ("DELETE", "/api/v1/session")
"""Not asked for: whoever has left is told nothing but that."""
BODIES_WITHOUT_END = 5
NAMED = {
    "device_id": "quay-1", "output": "1", "act": "identify", "number": "17", "pack": "k17", "carrier": "1",
    "channel": "1", "rule_id": "weak-rf", "code": "not-found",
}  # fmt: skip
HEADERS = (
    ("If-Match", '"b1.1"'), ("If-Match", "*"), ("If-Match", 'W/"b1.1"'), ("If-Match", "\x7f"),
    ("If-Match", '"' * 5_000), ("Command-Id", "c-1"), ("Command-Id", "../../x"), ("Command-Id", "w" * 9_000),
    ("Command-Id", "\xe6"), ("Content-Type", "application/json; charset=utf-16"), ("Content-Type", "text/csv"),
    ("Content-Type", ";"), ("Content-Type", "application/toml"), ("Accept", "\xff"),
    ("Range", "bytes=0-18446744073709551616"),
    ("If-None-Match", "*"), ("Cookie", "=;=;\x01"), ("Authorization", "Bearer \xff"), ("Content-Length", "-1"),
    ("Transfer-Encoding", "chunked, chunked"), ("Expect", "100-continue"), ("X-HTTP-Method-Override", "DELETE"),
)  # fmt: skip
QUERIES = (
    "", "cursor=NaN", "since=-1", "since=1e999", f"since={2**64}", f"limit={2**70}", "limit=0", "limit=%00",
    "cursor=%ff", "kind=%ed%a0%80", "address=../..", "a=1&a=2", "&&&", "=", "%", "since=\u0663",
    "cursor=" + "x" * 9_000, "format=%0d%0a",
)  # fmt: skip
ODD = ("", "%00", "%ff", "..%2f..", "%2e%2e", "x" * 9_000, "-0", "1e3", "NaN", "\u0661", "%f0%9f%a6%9c", "null", "{}")


def test_whatever_is_asked_the_fault_is_the_asker_s(tmp_path: Path) -> None:
    seen = keep(PROMISE, partial(tried, tmp_path))
    assert seen["answered well"] > seen["cases"] / 20, "some must reach what they ask for"
    assert seen["refused for their values or revisions"] > seen["cases"] / 20


def tried(folder: Path, seed: int) -> Seen:
    return run_virtual(_trial(folder / f"{seed}.sqlite3", seed))


@cache
def _operations() -> tuple[Any, ...]:
    schema = schemathesis.openapi.from_asgi(
        "/api/v1/openapi.json", make_stage().app, headers={"Host": f"127.0.0.1:{PORT}"}
    )
    found = (each.ok() for each in schema.get_all_operations() if isinstance(each, Ok))
    return tuple(each for each in found if (each.method.upper(), each.path) != LEAVING)


async def _trial(database: Path, seed: int) -> Seen:
    luck = np.random.default_rng(seed)
    statuses: list[int] = []
    async with house(f"sqlite:///{database}") as whole:
        await whole.console.pass_time(1.0)
        for case in [*_described(seed, luck), *(_by_hand(luck) for _ in range(BY_HAND))]:
            statuses.append(await _asked(whole, *case))
            if luck.random() < 0.2:
                await whole.console.pass_time(0.5)
    for _ in range(BODIES_WITHOUT_END):
        await _without_end(luck)
    return {
        "cases": len(statuses) + BODIES_WITHOUT_END,
        "answered well": sum(status < 400 for status in statuses),
        "refused for their values or revisions": sum(status in {409, 412, 415, 422, 428} for status in statuses),
        f"{MOST}status": max(statuses),
    }


Case = tuple[str, str, dict[str, str], bytes]


def _described(seed: int, luck: np.random.Generator) -> list[Case]:
    """A case of some operations, as their description allows and forbids; names that exist, as often as not."""
    cases: list[Case] = []
    for index in luck.permutation(len(_operations()))[:DESCRIBED]:
        operation = _operations()[index]
        at_random = hypothesis.settings(
            max_examples=1, deadline=None, database=None, suppress_health_check=list(HealthCheck)
        )

        def take(case: Any) -> None:
            if luck.random() < 0.5:
                case.path_parameters.update({name: NAMED[name] for name in case.path_parameters if name in NAMED})
            asked = httpx2.Request(**_plain(case.as_transport_kwargs(base_url=f"http://127.0.0.1:{PORT}")))
            cases.append((asked.method, str(asked.url), dict(asked.headers), asked.read()))

        hypothesis.seed(seed)(at_random(hypothesis.given(case=operation.as_strategy())(take)))()
    return cases


def _plain(request: dict[str, Any]) -> dict[str, Any]:
    """What a request is made of, without what belongs to the library's own transport."""
    wanted = ("method", "url", "headers", "params", "json", "data", "content", "files")
    kept = {name: value for name, value in request.items() if name in wanted and value is not None}
    data = kept.pop("data", None)
    if data is not None:
        kept["content" if isinstance(data, str | bytes) else "data"] = data
    return kept


def _by_hand(luck: np.random.Generator) -> Case:
    operation = _operations()[luck.integers(len(_operations()))]
    path = operation.path
    for name, known in NAMED.items():
        told = known if luck.random() < 0.6 else quote(NAMES[luck.integers(len(NAMES))], safe="")
        path = path.replace(f"{{{name}}}", told if luck.random() < 0.8 else ODD[luck.integers(len(ODD))])
    headers = dict(HEADERS[index] for index in luck.integers(len(HEADERS), size=2))
    body = b""
    if operation.method.upper() not in {"GET", "HEAD"}:
        headers.setdefault("Content-Type", "application/json")
        body = HOSTILE[luck.integers(len(HOSTILE))][0]
    return operation.method.upper(), f"{path}?{QUERIES[luck.integers(len(QUERIES))]}", headers, body


async def _asked(whole: House, method: str, url: str, headers: dict[str, str], body: bytes) -> int:
    own = {name.lower().encode(): value.encode("latin-1", "replace") for name, value in headers.items()}
    own[b"host"] = f"127.0.0.1:{PORT}".encode()
    answer = await whole.http.request(method, url, headers=own, content=body)
    assert answer.status_code < 500, (method, url, headers, body[:200], answer.text[:500])
    return answer.status_code


async def _without_end(luck: np.random.Generator) -> None:
    """A client that says nothing of the size and never stops sending is cut off at the limit."""
    piece = b"x" * int(luck.integers(1_000, 200_000))
    caller = Caller([piece] * (4 * BODY_BYTES_MAXIMUM // len(piece)))
    behind = await pass_door(caller)
    assert (caller.status, behind.reached) == (413, 0)
    assert (caller.taken - 1) * len(piece) <= BODY_BYTES_MAXIMUM, "not a piece more than shows that it is too large"
