"""Plans handed on: every form says the caution, names are only text, and neighbours learn frequencies alone."""

from __future__ import annotations

import csv
import io
import json
import re
from html.parser import HTMLParser
from typing import Any

import pytest
from starlette.testclient import TestClient

from fleet.planning.coordination.caution import CAUTION
from fleet.planning.coordination.reading import request_of_values
from fleet.planning.handout.neighbours import protected_of
from tests.api.fake_plans import PLAN, REQUEST

QUAY = "/api/v1/plans/quay"
EXPORT = f"{QUAY}/export?format="
HOSTILE = "=HYPERLINK(1)<script>alert(1)</script>\"'&"


class _Texts(HTMLParser):
    """The tags of a page and its text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        assert all(not name.startswith("on") and name not in {"style", "href", "src"} for name, _ in attrs)

    def handle_data(self, data: str) -> None:
        self.text += data


def hostile(engineer: TestClient) -> None:
    group = {**REQUEST["group"][0], "name": HOSTILE, "zone": HOSTILE, "count": 2, "spares": 1}
    request = {**REQUEST, "group": [group]}
    request["exclusion"] = [{"start_hz": 474_000_000, "stop_hz": 475_000_000, "words": HOSTILE}]
    place = {"group": HOSTILE, "zone": HOSTILE}
    body: dict[str, Any] = {
        **PLAN,
        "title": HOSTILE,
        "request": request,
        "carriers": [{**place, "frequency_hz": 470_000_000}, {**place, "frequency_hz": 471_000_000}],
        "spares": [{**place, "frequency_hz": 473_000_000, "rank": 1, "quiet_at_utc_us": 1, "quiet_dbm": -104.5}],
        "bands": [{"words": HOSTILE, "source": HOSTILE, "dated": "2026", "unverified": True}],
    }
    assert engineer.put("/api/v1/plans/hostile", json=body).status_code == 200


@pytest.mark.parametrize("form", ["csv", "json", "page", "neighbours"])
def test_every_form_says_the_caution(viewer: TestClient, form: str) -> None:
    answer = viewer.get(EXPORT + form)
    assert answer.status_code == 200
    assert CAUTION in answer.text
    assert f'filename="quay{"-neighbours" if form == "neighbours" else ""}.' in answer.headers["content-disposition"]


def test_the_table_has_every_carrier_and_no_formula(engineer: TestClient) -> None:
    hostile(engineer)
    rows = list(csv.DictReader(io.StringIO(engineer.get("/api/v1/plans/hostile/export?format=csv").text)))
    assert [(row["frequency_hz"], row["use"]) for row in rows] == [
        ("470000000", "carrier"),
        ("471000000", "carrier"),
        ("473000000", "spare 1"),
    ]
    assert {row["group"] for row in rows} == {"'" + HOSTILE}


def test_the_page_shows_all_of_it_as_text_alone(engineer: TestClient) -> None:
    hostile(engineer)
    answer = engineer.get("/api/v1/plans/hostile/export?format=page")
    page = _Texts()
    page.feed(answer.text)
    assert "script" not in page.tags
    assert page.text.count(HOSTILE) >= 6
    for words in ("470.000", "471.000", "473.000", "-104.5 dBm", "(unverified)", "Planning aid only", "Simulated"):
        assert words in page.text, words
    assert page.tags.count("tr") == 1 + 2 + 1 + 1
    assert "svg" in page.tags


def test_the_page_may_use_its_own_style_and_nothing_else(viewer: TestClient) -> None:
    policy = viewer.get(EXPORT + "page").headers["content-security-policy"]
    assert re.fullmatch(r"default-src 'none'; style-src 'sha256-[A-Za-z0-9+/=]+'; base-uri 'none'; .*", policy)
    assert "style-src 'self'" in viewer.get(EXPORT + "csv").headers["content-security-policy"]


def test_neighbours_learn_frequencies_and_spacings_alone(viewer: TestClient) -> None:
    asked = "&place=Quay&from_utc=2026-11-25T18:00Z&until_utc=2026-11-25T23:00Z"
    text = viewer.get(EXPORT + "neighbours" + asked).text
    found = json.loads(text)
    assert [each["frequency_hz"] for each in found["carriers"]] == [470_000_000, 470_500_000, 471_500_000]
    assert {each["spacing_hz"] for each in found["carriers"]} == {400_000}
    assert (found["place"], found["until_utc"]) == ("Quay", "2026-11-25T23:00Z")
    assert "House" not in text
    assert "channel" not in text


def test_what_neighbours_send_becomes_protected_carriers(viewer: TestClient) -> None:
    protected = protected_of(viewer.get(EXPORT + "neighbours&place=Quay").text, "quay.json", 100_000)
    assert [each["frequency_hz"] for each in protected] == [470_000_000, 470_500_000, 471_500_000]
    request = request_of_values({**REQUEST, "protected": protected}, "request")
    assert [each.words for each in request.protected] == ["Quay"] * 3


def test_unknown_forms_and_plans_are_refused(viewer: TestClient) -> None:
    assert viewer.get(EXPORT + "spell").status_code == 422
    assert viewer.get("/api/v1/plans/nobody/export?format=csv").status_code == 404
