"""Launch tokens and session cookies are in no file, answer or log of a running console, however they were used."""

from __future__ import annotations

import logging
from pathlib import Path

import httpx2
import pytest

from api.answers import PersonView
from api.roles import Role, roles_up_to
from tests.api.conftest import COOKIE, SITE
from tests.api.test_whole import House, house
from tests.virtual_time import run_virtual

LAUNCH = "/api/v1/session/launch"
PAGES = (
    "session", "devices", "channels", "packs", "carriers", "commands", "alarms", "matters", "journal", "production",
    "rules", "packs/k17/settings", "openapi.json", "no-such-page",
)  # fmt: skip


def test_no_secret_is_found_anywhere_but_with_its_owner(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    run_virtual(_trial(tmp_path, caplog))


async def _trial(folder: Path, caplog: pytest.LogCaptureFixture) -> None:
    async with house(f"sqlite:///{folder / 'journal.sqlite3'}") as whole:
        token = whole.desk.launches.issue(PersonView("Stage Left", roles_up_to(Role.ENGINEER)))
        cookie, places = await _use(whole, token)
        secrets = (token, cookie, whole.secret, *await _people(whole, places))
        places["log"] = caplog.text
        places |= _files_in(folder)
        assert all(len(secret) >= 32 for secret in secrets)
        found = [where for where, text in places.items() if any(secret in text for secret in secrets)]
        assert not found, f"a secret stands in {found}"
        files = "".join(text for name, text in places.items() if name.startswith("journal.sqlite3"))
        assert "low_cut_hz" in files, "the files are really looked at"
        assert "Stage Right" in files


async def _people(whole: House, places: dict[str, str]) -> tuple[str, ...]:
    """Somebody logs in, mistypes, makes a token and changes the password: all secrets of it, and what was answered."""
    first, second, mistyped = (f"canary passphrase {word} {'lamp ' * 4}" for word in ("one", "two", "three"))
    body = {"name": "Stage Left", "roles": ["engineer"], "password": first}
    places["added"] = (await whole.http.post("/api/v1/people", json=body)).text
    async with httpx2.AsyncClient(transport=httpx2.ASGITransport(whole.app), base_url=SITE) as left:
        for name, password in (("Stage Left", mistyped), (mistyped[:60], first), ("Stage Left", first)):
            answer = await left.post("/api/v1/session/login", json={"name": name, "password": password})
            places[f"log-in {len(places)}"] = answer.text
        made = (await left.post("/api/v1/tokens", json={"name": "script", "roles": ["viewer"]})).json()
        secret: str = made["secret"]
        own = await left.post("/api/v1/session/password", json={"old": first, "new": second})
        places["own password"] = own.text
        for page in ("sessions", "tokens", "people", "journal?limit=1000"):
            places[page] = (await left.get(f"/api/v1/{page}")).text
        await left.get("/api/v1/session", headers={"Authorization": f"Bearer {secret}"})
        cookie: str = left.cookies[COOKIE]
    return first, second, mistyped, secret, cookie


def _files_in(folder: Path) -> dict[str, str]:
    return {path.name: path.read_bytes().decode("latin-1") for path in folder.iterdir()}


async def _use(whole: House, token: str) -> tuple[str, dict[str, str]]:
    """Go in by the link, use it again and cut short, set something, look at every page; the cookie and all answers."""
    await whole.patch(low_cut_hz=80)
    texts: dict[str, str] = {}
    answer = await whole.http.post(LAUNCH, json={"token": token})
    texts["launch"] = answer.text
    cookie = answer.cookies[COOKIE]
    texts["launch again"] = (await whole.http.post(LAUNCH, json={"token": token})).text
    texts["launch cut short"] = (await whole.http.post(LAUNCH, json={"token": token[:-1]})).text
    texts["cookie as token"] = (await whole.http.post(LAUNCH, json={"token": cookie})).text
    for page in PAGES:
        texts[page] = (await whole.http.get(f"/api/v1/{page}")).text
    return cookie, texts
