"""The API over the running console: real journal, rules and feed, one receiver played by hand, on virtual time."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Callable, Coroutine
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import httpx2
import jsonschema

from api.accounts import Accounts
from api.answers import PersonView
from api.app import create_app
from api.desk import Desk
from api.door import RateBound, loopback_only
from api.passwords import Passwords
from api.roles import Role, roles_up_to
from api.security import Launches, Sessions
from api.shapes import components, page_of, reference
from fleet.model.observation import Answer
from tests.api.conftest import COOKIE, PORT, SITE
from tests.api.people_in_memory import CHEAP
from tests.api.websocket_driver import Client, connected
from tests.console import DEVICE, PACK, Started, started
from tests.virtual_time import run_virtual

SETTINGS = "/api/v1/packs/k17/settings"
SHAPES = {"components": {"schemas": components()}}


class House:
    """The running console, its application and an engineer at it."""

    def __init__(self, console: Started) -> None:
        clock = console.clock
        self.console = console
        runtime, sessions = console.runtime, Sessions(clock)
        accounts = Accounts(runtime.people, sessions, runtime.note, clock, Passwords(CHEAP))
        self.desk = Desk(runtime, sessions, Launches(clock), clock, COOKIE, "0.1.0", accounts)
        self.app = create_app(self.desk, loopback_only(PORT), rate=RateBound(clock))
        person = PersonView("Stage Right", roles_up_to(Role.ENGINEER))
        self.secret, self.session = self.desk.sessions.open(person)
        transport = httpx2.ASGITransport(self.app)
        self.http = httpx2.AsyncClient(transport=transport, base_url=SITE, cookies={COOKIE: self.secret})

    async def get(self, path: str, shape: dict[str, Any] | None = None) -> Any:
        answer = await self.http.get(f"/api/v1/{path}")
        assert answer.status_code == 200, answer.text
        if shape is not None:
            jsonschema.validate(answer.json(), {**shape, **SHAPES})
        return answer.json()

    async def patch(self, **changes: Any) -> httpx2.Response:
        tag = (await self.http.get(SETTINGS)).headers["ETag"]
        return await self.http.patch(SETTINGS, json=changes, headers={"If-Match": tag})


@asynccontextmanager
async def house(url: str, *, greeted: bool = True) -> AsyncIterator[House]:
    async with started(url, greeted=greeted) as console:
        whole = House(console)
        async with whole.http:
            yield whole


def virtual(test: Callable[[str], Coroutine[Any, Any, None]]) -> Callable[[Path], None]:
    """Run a test on virtual time, with the URL of a database that doesn't exist yet."""

    def run(tmp_path: Path) -> None:
        run_virtual(test(f"sqlite:///{tmp_path / 'journal.sqlite3'}"))

    run.__name__ = test.__name__
    return run


@virtual
async def test_every_list_has_the_shape_that_is_declared(url: str) -> None:
    async with house(url) as whole:
        await whole.console.pass_time(1.0)
        await whole.patch(low_cut_hz=80)
        whole.console.receiver.lose()
        await whole.console.pass_time(6.0, beating=False)
        names = dict.fromkeys(("carriers", "branches", "channels", "packs"), "RowView")
        names |= {
            "devices": "DeviceView",
            "commands": "Command",
            "alarms": "Alarm",
            "matters": "Matter",
            "rules": "Rule",
            "journal": "RecordedEvent",
        }
        for path, name in names.items():
            assert (await whole.get(path, page_of(name)))["items"], path
        await whole.get("production", reference("Production"))
        await whole.get("packs/k17/settings", reference("SettingsView"))
        await whole.get("devices/quay-1", reference("DeviceView"))


@virtual
async def test_a_change_goes_to_the_device_and_only_its_report_confirms(url: str) -> None:
    async with house(url) as whole:
        receiver = whole.console.receiver
        answer = await whole.patch(low_cut_hz=80)
        assert (answer.status_code, answer.json()["state"]) == (202, "sent")
        await whole.console.pass_time(0.5)
        location = answer.headers["Location"].removeprefix("/api/v1/")
        receiver.answer(receiver.written[0], Answer.DONE)
        assert (await whole.get(location))["state"] != "confirmed"
        receiver.obey(receiver.written[0])
        assert (await whole.get(location))["state"] == "confirmed"
        assert (await whole.get("packs/k17/settings"))["reported"]["low_cut_hz"] == 80


@virtual
async def test_an_id_that_was_used_for_something_else_is_said_to_be_and_nothing_is_sent(url: str) -> None:
    async with house(url) as whole:
        tag = (await whole.http.get(SETTINGS)).headers["ETag"]
        headers = {"If-Match": tag, "Command-Id": "lamp-1"}
        first = await whole.http.patch(SETTINGS, json={"low_cut_hz": 80}, headers=headers)
        again = await whole.http.patch(SETTINGS, json={"low_cut_hz": 80}, headers=headers)
        other = await whole.http.patch(SETTINGS, json={"low_cut_hz": 100}, headers=headers)
        assert (first.status_code, again.status_code) == (202, 202)
        assert (other.status_code, other.json()["code"]) == (409, "command-id-reused")
        await whole.console.pass_time(0.5)
        assert [written.command_id for written in whole.console.receiver.written] == ["lamp-1"]


@virtual
async def test_a_value_off_its_step_is_refused_with_what_is_allowed_and_nothing_is_sent(url: str) -> None:
    async with house(url) as whole:
        answer = await whole.patch(low_cut_hz=85)
        assert (answer.status_code, answer.json()["code"]) == (422, "value-refused")
        assert answer.json()["allowed"] == {"type": "integer", "minimum": 0, "maximum": 160, "multipleOf": 10}
        unknown = await whole.patch(lamp_oil=1)
        assert unknown.json()["allowed"] == {"settings": ["low_cut_hz", "muted"]}
        await whole.console.pass_time(1.0)
        assert whole.console.receiver.written == []


@virtual
async def test_a_panel_that_turned_meanwhile_makes_the_write_stale(url: str) -> None:
    async with house(url) as whole:
        tag = (await whole.http.get(SETTINGS)).headers["ETag"]
        whole.console.receiver.change({"low_cut_hz": 120})
        answer = await whole.http.patch(SETTINGS, json={"low_cut_hz": 80}, headers={"If-Match": tag})
        assert (answer.status_code, answer.json()["current"]["values"]["low_cut_hz"]) == (412, 120)


@virtual
async def test_what_cannot_be_done_as_things_stand_is_409(url: str) -> None:
    async with house(url) as whole:
        answer = await whole.patch(low_cut_hz=80)
        command = answer.json()["command_id"]
        await whole.console.pass_time(0.5)
        early = await whole.http.post(f"/api/v1/commands/{command}/close", json={"reason": "Impatience."})
        assert (early.status_code, early.json()["code"]) == (409, "not-possible-now")
        whole.console.receiver.obey(whole.console.receiver.written[0])
        late = await whole.http.post(f"/api/v1/commands/{command}/cancel")
        assert (late.status_code, late.json()["code"]) == (409, "not-possible-now")


@virtual
async def test_a_lost_device_raises_an_alarm_that_a_person_acknowledges(url: str) -> None:
    async with house(url) as whole:
        whole.console.receiver.lose()
        await whole.console.pass_time(6.0, beating=False)
        (alarm,) = (await whole.get("alarms"))["items"]
        assert (alarm["alarm_id"], alarm["state"]) == (f"contact-lost:{DEVICE}", "unacknowledged")
        done = await whole.http.post("/api/v1/alarms/acknowledge", json={"alarm_ids": [alarm["alarm_id"]]})
        assert done.json()["items"][0]["acknowledged_by"] == "Stage Right"
        unknown = await whole.http.post("/api/v1/alarms/acknowledge", json={"alarm_ids": ["contact-lost:moon-1"]})
        assert unknown.status_code == 404
        assert (await whole.http.post(f"/api/v1/devices/{DEVICE}/retry")).status_code == 202
        assert whole.console.receiver.retried == [DEVICE]


@virtual
async def test_a_rule_that_is_changed_is_kept_and_one_that_makes_no_sense_is_not(url: str) -> None:
    async with house(url) as whole:
        tag = (await whole.http.get("/api/v1/rules")).headers["ETag"]
        path = "/api/v1/rules/weak-rf"
        changed = await whole.http.patch(path, json={"limit": 12.0}, headers={"If-Match": tag})
        assert (changed.status_code, changed.json()["limit"]) == (200, 12.0)
        stale = await whole.http.patch(path, json={"limit": 9.0}, headers={"If-Match": tag})
        assert stale.status_code == 412
    async with house(url) as again:
        rules = (await again.get("rules"))["items"]
        assert next(rule for rule in rules if rule["rule_id"] == "weak-rf")["limit"] == 12.0


@virtual
async def test_the_live_connection_tells_the_same_story(url: str) -> None:
    async with house(url) as whole, connected(whole.app, whole.secret) as live:
        live.say({"type": "subscribe"})
        assert (await live.hear())["type"] == "websocket.accept"
        snapshot = await live.hear_json()
        jsonschema.validate(snapshot, {**reference("LiveMessage"), **SHAPES})
        assert (await live.hear_binary())[0] == 2
        answer = await whole.patch(low_cut_hz=80)
        states = await states_of(live, answer.json()["command_id"], 2)
        assert states == ["requested", "sent"]
        await whole.console.pass_time(0.5)
        whole.console.receiver.obey(whole.console.receiver.written[0])
        assert (await states_of(live, answer.json()["command_id"], 2))[-1] == "confirmed"
        assert (await whole.get("packs/k17/settings"))["address"] == PACK


async def states_of(live: Client, command_id: str, count: int) -> list[str]:
    """The next states of a command, every text on the way held against its schema."""
    states: list[str] = []
    while len(states) < count:
        message = await live.hear()
        if not message.get("text"):
            continue
        body = valid_message(message["text"])
        commands = [event["command"] for event in body.get("events", ()) if event["kind"] == "command changed"]
        states.extend(command["state"] for command in commands if command["command_id"] == command_id)
    return states


def valid_message(text: str) -> dict[str, Any]:
    body: dict[str, Any] = json.loads(text)
    jsonschema.validate(body, {**reference("LiveMessage"), **SHAPES})
    return body
