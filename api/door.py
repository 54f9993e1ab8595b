"""The one door: what every request passes before any route sees it, and the headers every answer carries.

In order: the host that is asked for, the site that asks, the rate, the size of the body. A body is read here in full,
under its limit and a deadline, so that nothing behind the door ever waits for a client.
"""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.answers import Problem
from api.problems import problem, problem_response
from api.security import bearer_of
from fleet.clock import Clock

BODY_BYTES_MAXIMUM = 1_048_576
FILE_BYTES_MAXIMUM = 32 * 1_048_576
"""What a survey's file may have: a million lines."""
FILES_AT_ONCE = 2
FILE_PLACE = ("POST", "/api/v1/surveys")
BODY_WITHIN_S = 10.0
REQUESTS_A_SECOND = 100
REQUESTS_AT_ONCE = 400
CALLERS_MAXIMUM = 1_024
_US = 1_000_000
_SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
_OWN_SITES = frozenset({"same-origin", "none"})

CONTENT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; base-uri 'none'; frame-ancestors 'none'; form-action 'none'"
)
ALWAYS_SENT = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}

_log = logging.getLogger("redpoll.door")


@dataclass(frozen=True, slots=True)
class Allowed:
    """The hosts that may be asked for and the origins that may ask; both compared letter for letter in lower case."""

    hosts: frozenset[str]
    origins: frozenset[str]


LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")
_DEFAULT_PORTS = {"http": 80, "https": 443}


def loopback_only(port: int) -> Allowed:
    """The names under which a browser on this machine reaches that port."""
    return allowed_under(LOOPBACK_NAMES, port, "http")


def allowed_under(names: Iterable[str], port: int, scheme: str) -> Allowed:
    """Those names alone, at that port; browsers leave out the port that goes without saying."""
    hosts = {f"{name.lower()}:{port}" for name in names}
    if port == _DEFAULT_PORTS[scheme]:
        hosts |= {name.lower() for name in names}
    return Allowed(frozenset(hosts), frozenset(f"{scheme}://{host}" for host in hosts))


@dataclass(slots=True)
class _Bucket:
    left: float
    filled_us: int


class RateBound:
    """Bounds how often each caller may ask, with some at once; the caller longest silent is forgotten at the bound."""

    def __init__(self, clock: Clock, a_second: float = REQUESTS_A_SECOND, at_once: float = REQUESTS_AT_ONCE) -> None:
        self._clock = clock
        self._a_second = a_second
        self._at_once = at_once
        self._buckets: dict[str, _Bucket] = {}

    def take(self, caller: str) -> bool:
        """Whether the caller may ask now."""
        now_us = self._clock.monotonic_us()
        bucket = self._buckets.pop(caller, None) or _Bucket(self._at_once, now_us)
        bucket.left = min(self._at_once, bucket.left + (now_us - bucket.filled_us) / _US * self._a_second)
        bucket.filled_us = now_us
        if len(self._buckets) >= CALLERS_MAXIMUM:
            del self._buckets[next(iter(self._buckets))]
        self._buckets[caller] = bucket
        if bucket.left < 1.0:
            return False
        bucket.left -= 1.0
        return True


class DoorMiddleware:
    """Refuses what may not come in, before it is buffered, and dresses every answer."""

    def __init__(self, app: ASGIApp, allowed: Allowed, rate: RateBound) -> None:
        self._app = app
        self._allowed = allowed
        self._rate = rate
        self._files = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let one request or WebSocket in, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        dressed = _dressing(scope, send)
        found = self._objection(scope)
        if found is None and _is_file(scope):
            await self._take_file(scope, receive, dressed)
            return
        await self._take(scope, receive, dressed, found)

    async def _take_file(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Take a large body, of which few are held at once."""
        if self._files >= FILES_AT_ONCE:
            busy = problem("too-many-requests", "Other files are being read; send it again.", retry_after_s=1)
            await problem_response(busy, {"Connection": "close"})(scope, receive, send)
            return
        self._files += 1
        try:
            await self._take(scope, receive, send, None)
        finally:
            self._files -= 1

    async def _take(self, scope: Scope, receive: Receive, dressed: Send, found: Problem | None) -> None:
        if found is None and scope["type"] == "http":
            bounded = await _bounded_body(scope, receive)
            if isinstance(bounded, Problem):
                found = bounded
            else:
                receive = bounded
        if found is None:
            await self._enter(scope, receive, dressed)
            return
        # What the client still sends is not read, so this connection can't be used again.
        await problem_response(found, {"Connection": "close"})(scope, receive, dressed)

    async def _enter(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on; a mistake of ours becomes a problem too, unless the answer has begun."""
        begun = False

        async def noticing(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self._app(scope, receive, noticing)
        except Exception:
            _log.exception("a request failed: %s", ascii(scope["path"]))
            if begun:
                raise
            mistake = problem("console-fault", "The console made a mistake; its log has the particulars.")
            await problem_response(mistake)(scope, receive, send)

    def _objection(self, scope: Scope) -> Problem | None:
        headers = Headers(scope=scope)
        hosts = headers.getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self._allowed.hosts:
            return problem("host-refused", "The Host header names no address of this console.")
        if not self._is_our_site(headers, scope):
            return problem("origin-refused", "The request comes from a page that is not this console's.")
        client = scope.get("client")
        if not self._rate.take(client[0] if client else ""):
            return problem("too-many-requests", "Too many requests came from this machine.", retry_after_s=1)
        return None

    def _is_our_site(self, headers: Headers, scope: Scope) -> bool:
        """A page elsewhere may link to us, but may neither read nor change anything.

        Browsers send Origin with every WebSocket and with every request that isn't a plain look; programs send none.
        A request that brings a token needs no such care: no browser adds one by itself, and no cookie counts beside it.
        """
        if bearer_of(headers):
            return True
        origins = headers.getlist("origin")
        if origins:
            return len(origins) == 1 and origins[0].lower() in self._allowed.origins
        safe = scope["type"] == "http" and scope["method"] in _SAFE_METHODS
        return safe or headers.get("sec-fetch-site", "none") in _OWN_SITES


def _dressing(scope: Scope, send: Send) -> Send:
    async def dressed(message: Message) -> None:
        if message["type"] in ("http.response.start", "websocket.http.response.start"):
            headers = MutableHeaders(scope=message)
            _dress(headers, scope["path"])
            _log.info("%s %s %d", scope.get("method", "WEBSOCKET"), ascii(scope["path"]), message["status"])
        await send(message)

    return dressed


def _dress(headers: MutableHeaders, path: str) -> None:
    """What every answer says; a page that brings its own style has a policy of its own."""
    for name, value in ALWAYS_SENT.items():
        headers.setdefault(name, value)
    if path.startswith("/api/") or "cache-control" not in headers:
        headers["Cache-Control"] = "no-store" if path.startswith("/api/") else "no-cache"


def _is_file(scope: Scope) -> bool:
    """Whether somebody sends a file, and not JSON, to where files are read."""
    if scope["type"] != "http" or (scope["method"], scope["path"]) != FILE_PLACE:
        return False
    return Headers(scope=scope).get("content-type", "").split(";", 1)[0].strip().lower() == "text/csv"


async def _bounded_body(scope: Scope, receive: Receive) -> Receive | Problem:
    """Read the body under its limits and give a receive that replays it; or the problem with it."""
    declared = Headers(scope=scope).get("content-length", "0")
    if not declared.isascii() or not declared.isdigit():
        return problem("bad-header", "Content-Length must be a number.")
    most = FILE_BYTES_MAXIMUM if _is_file(scope) else BODY_BYTES_MAXIMUM
    too_large = problem("body-too-large", f"The body may have at most {most} bytes.")
    if int(declared[:20]) > most:
        return too_large
    try:
        async with asyncio.timeout(BODY_WITHIN_S):
            messages = await _collect(receive, most)
    except TimeoutError:
        return problem("unreadable-body", f"The body did not come within {BODY_WITHIN_S:g} s.")
    return too_large if messages is None else _replaying(messages, receive)


async def _collect(receive: Receive, most: int) -> list[Message] | None:
    """All messages of a request's body, or None once they exceed the limit; the rest is then left unread."""
    collected: list[Message] = []
    size = 0
    while True:
        message = await receive()
        collected.append(message)
        size += len(message.get("body", b""))
        if size > most:
            return None
        if message["type"] != "http.request" or not message.get("more_body", False):
            return collected


def _replaying(messages: Iterable[Message], receive: Receive) -> Receive:
    waiting = deque(messages)

    async def replay() -> Message:
        return waiting.popleft() if waiting else await receive()

    return replay
