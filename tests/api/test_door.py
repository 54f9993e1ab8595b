"""What may come in at all: hosts, origins, rates, bodies; and what every answer wears."""

from __future__ import annotations

import asyncio
from typing import Any

import pytest
from starlette.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from api.door import ALWAYS_SENT, BODY_BYTES_MAXIMUM, CALLERS_MAXIMUM, DoorMiddleware, RateBound, loopback_only
from api.roles import Role
from fleet.clock import ManualClock
from tests.api.conftest import PORT, SITE, Stage, make_stage
from tests.virtual_time import run_virtual

ACKNOWLEDGE = "/api/v1/alarms/acknowledge"
BODY = {"alarm_ids": ["weak-rf:house-1/carrier/1"]}


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"LOCALHOST:{PORT}", f"[::1]:{PORT}"])
def test_our_own_names_are_let_in(viewer: TestClient, host: str) -> None:
    assert viewer.get("/api/v1/devices", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "tern-rock.example",
        f"tern-rock.example:{PORT}",
        "127.0.0.1",
        "127.0.0.1:80",
        f"127.0.0.1.tern.example:{PORT}",
        "",
    ],
)
def test_a_rebound_name_is_refused_before_anything_else(engineer: TestClient, stage: Stage, host: str) -> None:
    answer = engineer.post(ACKNOWLEDGE, json=BODY, headers={"Host": host})
    assert (answer.status_code, answer.json()["code"]) == (403, "host-refused")
    assert stage.console.standing_alarms[0].acknowledged_by == ""


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://tern-rock.example"},
        {"Origin": "null"},
        {"Origin": f"http://127.0.0.1:{PORT + 1}"},
        {"Origin": f"https://127.0.0.1:{PORT}"},
        {"Origin": f"{SITE}.tern.example"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)
def test_another_site_changes_nothing(engineer: TestClient, stage: Stage, headers: dict[str, str]) -> None:
    answer = engineer.post(ACKNOWLEDGE, json=BODY, headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (403, "origin-refused")
    assert stage.console.standing_alarms[0].acknowledged_by == ""


def test_another_site_reads_nothing_either(engineer: TestClient) -> None:
    assert engineer.get("/api/v1/devices", headers={"Origin": "http://tern-rock.example"}).status_code == 403


@pytest.mark.parametrize("headers", [{}, {"Origin": SITE}, {"Origin": SITE, "Sec-Fetch-Site": "same-origin"}])
def test_our_page_and_plain_programs_may(engineer: TestClient, headers: dict[str, str]) -> None:
    assert engineer.post(ACKNOWLEDGE, json=BODY, headers=headers).status_code == 200


def test_a_form_of_another_site_has_no_body_we_take(engineer: TestClient) -> None:
    """A form can be sent across sites without asking, but never as JSON."""
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"):
        answer = engineer.post(ACKNOWLEDGE, content=b'{"alarm_ids":["a"]}', headers={"Content-Type": kind})
        assert (answer.status_code, answer.json()["code"]) == (415, "media-type-refused")


@pytest.mark.parametrize("path", ["/", "/api/v1/devices", "/api/v1/nothing", "/ui/nothing.js", "/healthz"])
def test_every_answer_is_dressed(viewer: TestClient, path: str) -> None:
    answer = viewer.get(path)
    for name, value in ALWAYS_SENT.items():
        assert answer.headers[name] == value
    assert "unsafe" not in answer.headers["Content-Security-Policy"]
    assert answer.headers["Cache-Control"] in ({"no-store"} if path.startswith("/api/") else {"no-cache"})


class Behind:
    """An application that notes whether it was reached, and how much it was given to read."""

    def __init__(self) -> None:
        self.reached = 0
        self.read = b""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        assert scope["type"] == "http"
        self.reached += 1
        message = await receive()
        while message["type"] == "http.request":
            self.read += message.get("body", b"")
            if not message.get("more_body", False):
                break
            message = await receive()
        await send({"type": "http.response.start", "status": 204, "headers": []})
        await send({"type": "http.response.body"})


class Caller:
    """A client that sends a body in pieces and counts those that were taken."""

    def __init__(self, pieces: list[bytes], *, stalls: bool = False) -> None:
        self._pieces = pieces
        self._stalls = stalls
        self.taken = 0
        self.status = 0

    async def receive(self) -> Message:
        if self.taken == len(self._pieces):
            if self._stalls:
                await asyncio.Event().wait()
            return {"type": "http.disconnect"}
        self.taken += 1
        more = self._stalls or self.taken < len(self._pieces)
        return {"type": "http.request", "body": self._pieces[self.taken - 1], "more_body": more}

    async def send(self, message: Message) -> None:
        self.status = message.get("status", self.status)


async def pass_door(caller: Caller, *more_headers: tuple[bytes, bytes]) -> Behind:
    behind = Behind()
    scope: dict[str, Any] = {
        "type": "http",
        "method": "POST",
        "path": "/x",
        "headers": [(b"host", f"127.0.0.1:{PORT}".encode()), *more_headers],
        "client": ("127.0.0.1", 1),
    }
    clock = ManualClock()
    await DoorMiddleware(behind, loopback_only(PORT), RateBound(clock))(scope, caller.receive, caller.send)
    return behind


def test_a_body_that_says_it_is_too_large_is_refused_unread() -> None:
    caller = Caller([b"x"])
    behind = run_virtual(pass_door(caller, (b"content-length", str(BODY_BYTES_MAXIMUM + 1).encode())))
    assert (caller.status, caller.taken, behind.reached) == (413, 0, 0)


def test_a_body_that_doesn_t_say_is_counted_and_dropped_at_the_limit() -> None:
    piece = b"x" * 65_536
    caller = Caller([piece] * 1_000)
    behind = run_virtual(pass_door(caller, (b"transfer-encoding", b"chunked")))
    assert (caller.status, behind.reached) == (413, 0)
    assert caller.taken == BODY_BYTES_MAXIMUM // len(piece) + 1


def test_a_body_at_the_limit_passes_whole() -> None:
    caller = Caller([b"x" * (BODY_BYTES_MAXIMUM - 1), b"y"])
    behind = run_virtual(pass_door(caller, (b"content-length", str(BODY_BYTES_MAXIMUM).encode())))
    assert (caller.status, len(behind.read)) == (204, BODY_BYTES_MAXIMUM)


def test_a_body_that_never_comes_is_given_up() -> None:
    caller = Caller([b"{"], stalls=True)
    behind = run_virtual(pass_door(caller, (b"content-length", b"100")))
    assert (caller.status, behind.reached) == (400, 0)


@pytest.mark.parametrize("length", [b"-1", b"1e3", b"\xb2", b"0x10", b"", b"9" * 5_000])
def test_a_length_that_is_no_number_or_has_no_end_never_passes(length: bytes) -> None:
    caller = Caller([b"x"])
    behind = run_virtual(pass_door(caller, (b"content-length", length)))
    assert caller.status in {400, 413}
    assert behind.reached == 0


def test_a_mistake_of_ours_is_a_problem_and_wears_its_headers(stage: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    def snap() -> None:
        raise ZeroDivisionError("a secret of the inside")

    monkeypatch.setattr(stage.console, "snapshot", snap)
    answer = stage.client(Role.VIEWER).get("/api/v1/devices")
    assert (answer.status_code, answer.json()["code"]) == (500, "console-fault")
    assert answer.headers["Content-Security-Policy"] == ALWAYS_SENT["Content-Security-Policy"]
    assert "secret" not in answer.text


def test_too_many_requests_are_told_when_to_come_back() -> None:
    clock = ManualClock()
    stage = make_stage(clock=clock, rate=RateBound(clock, a_second=2.0, at_once=3.0))
    client = stage.client()
    assert [client.get("/healthz").status_code for _ in range(4)] == [200, 200, 200, 429]
    refused = client.get("/healthz")
    assert (refused.json()["code"], refused.headers["Retry-After"]) == ("too-many-requests", "1")
    run_virtual(clock.advance(0.5))
    assert [client.get("/healthz").status_code for _ in range(2)] == [200, 429]


def test_the_rate_bound_forgets_the_longest_silent_caller_only() -> None:
    rate = RateBound(ManualClock(), a_second=1.0, at_once=1.0)
    assert rate.take("first")
    assert rate.take("second")
    for number in range(CALLERS_MAXIMUM - 2):
        rate.take(f"crowd {number}")
    assert not rate.take("first")
    assert rate.take("newcomer")
    assert rate.take("second")
    assert not rate.take("first")
