"""Web pages can't reach in: no page of another site, and no name rebound to this machine, gets past the door.

A browser sends the person's cookie with each request, so every attempt here carries an engineer's.
"""

from __future__ import annotations

import asyncio

import httpx2
import numpy as np

from api.answers import PersonView
from api.roles import Role, role_table, roles_up_to
from fleet.clock import LoopClock
from tests.api.conftest import COOKIE, PORT, SITE, Stage, make_stage
from tests.api.websocket_driver import connected
from tests.promises.promise import Promise, Seen, keep
from tests.virtual_time import run_virtual

PROMISE = Promise(
    "web_pages",
    "web pages can't reach in",
    "foreign and forged Origin, rebound Host, forms, plain links, WebSockets, a launch link raced for",
    "attempts",
    (400, 8_000, 200_000),
)
ATTEMPTS_A_TRIAL, SOCKETS_A_TRIAL, RACERS = 160, 20, 20
OWN = f"127.0.0.1:{PORT}"
HOSTS = (
    "tern-rock.example", f"tern-rock.example:{PORT}", "127.0.0.1", "127.0.0.1:1", f"127.0.0.2:{PORT}",
    f"0.0.0.0:{PORT}", f"{OWN}.tern.example", f"tern.example@{OWN}", f"{OWN}@tern.example", f"127.1:{PORT}",
    f"2130706433:{PORT}", f"0x7f000001:{PORT}", f"[::ffff:127.0.0.1]:{PORT}", f"localhost.:{PORT}",
    f"localhost.tern.example:{PORT}", f"{OWN}0", f"{OWN}, tern.example", f"{OWN}#", f"{OWN}/", f"http://{OWN}", "",
)  # fmt: skip
ORIGINS = (
    "null", "http://tern-rock.example", "https://tern-rock.example", f"https://{OWN}", f"http://127.0.0.1:{PORT + 1}",
    "http://127.0.0.1", f"{SITE}.tern.example", f"http://tern.example@{OWN}", f"{SITE}/", f"{SITE}#", f"{SITE} ",
    f"{SITE}, http://tern.example", f"http://localhost.tern.example:{PORT}", "file://", "http://", "",
    f"ws://{OWN}", f"http://127.0.0.2:{PORT}", f"http://[::ffff:127.0.0.1]:{PORT}",
)  # fmt: skip
CHANGING = frozenset({"POST", "PUT", "PATCH", "DELETE"})
BODIES = (
    ("application/json", b'{"alarm_ids":["a"]}'), ("text/plain", b"{}"), ("application/x-www-form-urlencoded", b"a=1"),
    ("multipart/form-data; boundary=x", b"--x--"), ("application/merge-patch+json", b'{"muted":true}'),
)  # fmt: skip
REFUSED = {"host-refused", "origin-refused"}


def test_no_other_page_gets_past_the_door() -> None:
    keep(PROMISE, tried)


def tried(seed: int) -> Seen:
    return run_virtual(_trial(np.random.default_rng(seed)))


async def _trial(luck: np.random.Generator) -> Seen:
    stage = make_stage(clock=LoopClock(1_700_000_000_000_000))
    cookie = stage.cookie(Role.ENGINEER)
    routes = [(method, path) for method, path, _ in role_table(stage.app.routes) if method != "WEBSOCKET"]
    transport = httpx2.ASGITransport(stage.app, client=("127.0.0.1", 50_000))
    async with httpx2.AsyncClient(transport=transport, base_url=SITE, cookies={COOKIE: cookie}) as client:
        for _ in range(ATTEMPTS_A_TRIAL):
            method, path = routes[luck.integers(len(routes))]
            await _one_attempt(client, luck, method, path.replace("{", "").replace("}", ""))
        raced = await _race(stage, client)
    for _ in range(SOCKETS_A_TRIAL):
        await _one_socket(stage, cookie, luck)
    return {"attempts": ATTEMPTS_A_TRIAL + SOCKETS_A_TRIAL + raced, "races for a launch link": 1}


async def _one_attempt(client: httpx2.AsyncClient, luck: np.random.Generator, method: str, path: str) -> None:
    kind, body = BODIES[luck.integers(len(BODIES))]
    headers = {"Content-Type": kind, "If-Match": '"b1.1"'} | _foreign(luck, method)
    answer = await client.request(method, path, content=body, headers=headers)
    assert answer.status_code == 403, (method, path, headers, answer.status_code)
    assert method == "HEAD" or answer.json()["code"] in REFUSED
    ours = {"Host": OWN, "Origin": SITE, "Sec-Fetch-Site": "same-origin"}
    own = await client.request(method, path, content=body, headers=headers | ours)
    refused = own.status_code == 403 and own.json().get("code") in REFUSED
    assert not refused, "the same from our own page comes in, or nothing is proved"


def _foreign(luck: np.random.Generator, method: str) -> dict[str, str]:
    """What gives the request away: its host, its origin, or for want of one the browser's own word."""
    way = luck.random()
    if way < 0.4:
        return {"Host": HOSTS[luck.integers(len(HOSTS))]}
    if way < 0.8 or method not in CHANGING:
        return {"Host": OWN, "Origin": ORIGINS[luck.integers(len(ORIGINS))]}
    return {"Host": OWN, "Sec-Fetch-Site": ("cross-site", "same-site")[luck.integers(2)]}


async def _race(stage: Stage, client: httpx2.AsyncClient) -> int:
    """Many ask with the same token at once, a page among them that has read it over a shoulder: one gets in."""
    token = stage.desk.launches.issue(PersonView("Stage Left", roles_up_to(Role.ENGINEER)))
    asked = (client.post("/api/v1/session/launch", json={"token": token}) for _ in range(RACERS))
    codes = sorted(answer.status_code for answer in await asyncio.gather(*asked))
    assert codes == [200] + [401] * (RACERS - 1)
    return RACERS


async def _one_socket(stage: Stage, cookie: str, luck: np.random.Generator) -> None:
    foreign = {"host": HOSTS[luck.integers(len(HOSTS))]}
    if luck.random() < 0.6:
        foreign = {"origin": ORIGINS[luck.integers(len(ORIGINS) - 1)] or "null"}
    async with connected(stage.app, cookie, **foreign) as client:
        client.say({"type": "subscribe"})
        first = await client.hear()
    assert first["type"] in {"websocket.close", "websocket.http.response.start"}, (foreign, first["type"])
    assert first.get("status", 403) == 403
