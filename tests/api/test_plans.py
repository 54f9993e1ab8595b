"""Plans over the API: documents with revisions, searches that fill them, and what is looked into; who may do what."""

from __future__ import annotations

from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from api.roles import Role
from fleet import plans
from fleet.errors import LimitReached
from fleet.journal.documents import Document
from fleet.model.event import DocumentApplied
from tests.api.conftest import Stage
from tests.api.fake_plans import PLAN, REQUEST

QUAY = "/api/v1/plans/quay"
NEW = "/api/v1/plans/second-night"
SEEN = {"If-Match": '"1"'}


def refused(answer: Response, status: int, code: str) -> dict[str, Any]:
    body: dict[str, Any] = answer.json()
    assert (answer.status_code, body["code"]) == (status, code), body
    return body


def with_request(**changes: Any) -> dict[str, Any]:
    return {**PLAN, "request": {**REQUEST, **changes}}


def test_plans_are_listed_without_their_carriers_and_shown_whole(viewer: TestClient) -> None:
    listed = viewer.get("/api/v1/plans").json()
    assert listed["items"] == [
        {
            "name": "quay",
            "title": "The Lamp at Tern Rock",
            "revision": 1,
            "by": "Engineer",
            "at_utc_us": 7,
            "carriers": 3,
            "asked": 4,
            "complete": False,
            "worst_margin_hz": None,
        }
    ]
    answer = viewer.get(QUAY)
    assert answer.headers["ETag"] == '"1"'
    shown = answer.json()
    assert shown["request"] == REQUEST
    assert shown["carriers"][1] == {
        "group": "House",
        "zone": "House",
        "frequency_hz": 470_500_000,
        "locked": True,
        "channel": None,
    }
    refused(viewer.get(NEW), 404, "not-found")
    refused(viewer.get("/api/v1/plans/NoSlug"), 422, "invalid-request")


def test_a_new_plan_needs_no_revision_and_an_old_one_does(stage: Stage, engineer: TestClient) -> None:
    made = engineer.put(NEW, json=PLAN)
    assert (made.status_code, made.headers["ETag"]) == (200, '"1"')
    refused(engineer.put(NEW, json=PLAN), 428, "revision-missing")
    refused(engineer.put(NEW, json=PLAN, headers={"If-Match": '"b1.7"'}), 412, "stale-revision")
    stale = refused(engineer.put(NEW, json=PLAN, headers={"If-Match": '"9"'}), 412, "stale-revision")
    assert stale["current"]["revision"] == "1"
    assert stale["current"]["values"]["title"] == PLAN["title"]
    renamed = engineer.put(NEW, json={**PLAN, "title": "Second night"}, headers=SEEN)
    assert renamed.headers["ETag"] == '"2"'
    assert engineer.get(NEW).json()["title"] == "Second night"
    assert engineer.get(f"{NEW}?revision=1").json()["title"] == PLAN["title"]
    kept = engineer.get(f"{NEW}/revisions").json()["items"]
    assert [(each["revision"], each["by"]) for each in kept] == [(2, "Stage Left"), (1, "Stage Left")]
    page = engineer.get(f"{NEW}/revisions?limit=1").json()
    assert page["next"] == "2"
    assert engineer.get(f"{NEW}/revisions?limit=1&cursor=2").json()["items"][0]["revision"] == 1
    refused(engineer.get("/api/v1/plans/nowhere/revisions"), 404, "not-found")
    journalled = [event for event in stage.console.noted if isinstance(event, DocumentApplied)]
    assert [(event.document, event.revision, event.by) for event in journalled] == [
        ("plan/second-night", 1, "Stage Left"),
        ("plan/second-night", 2, "Stage Left"),
    ]


def test_what_a_plan_says_of_itself_is_reckoned_not_believed(engineer: TestClient) -> None:
    boasts = {**PLAN, "complete": True, "worst_margin_hz": 10_000_000, "seed": 4, "steps": 9, "seconds": 2.0}
    kept = engineer.put(NEW, json=boasts).json()
    # Spacing 400 kHz, carriers 470.0, 470.5 and 471.5 MHz: the nearest two are 500 kHz apart, products fall at 471.0
    # (2A-B) and 470.0 + 471.5 - 470.5 = 471.0 MHz, half a megahertz from the nearest carrier with a guard of 100 kHz.
    assert (kept["complete"], kept["worst_margin_hz"]) == (False, 100_000)
    assert (kept["seed"], kept["steps"], kept["seconds"]) == (4, 9, 2.0), "nothing else stood to be found"
    moved = {**boasts, "carriers": PLAN["carriers"][:2]}
    kept = engineer.put(NEW, json=moved, headers=SEEN).json()
    assert (kept["seed"], kept["steps"], kept["seconds"]) == (0, 0, 0.0), "no search finds what a hand has moved"
    too_near = [{**PLAN["carriers"][0], "frequency_hz": 470_000_000 + 100_000 * each} for each in range(4)]
    kept = engineer.put(NEW, json={**boasts, "carriers": too_near}, headers={"If-Match": '"2"'}).json()
    assert (kept["complete"], kept["worst_margin_hz"]) == (False, -300_000)


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({**PLAN, "colour": "red"}, "colour"),
        ({**PLAN, "title": ""}, "title"),
        ({"title": "x"}, "request"),
        (with_request(raster_hz=None), "request.raster_hz"),
        (with_request(raster_hz="25 kHz"), "request.raster_hz"),
        (with_request(window=[]), "request.window"),
        (with_request(window=[{"start_hz": 478_000_000, "stop_hz": 470_000_000}]), "request.window[0].stop_hz"),
        (with_request(antenna=3), "request.antenna"),
        (with_request(group=[{**REQUEST["group"][0], "profile": "digital"}]), "request.group[0].profile"),
        ({**PLAN, "carriers": [{**PLAN["carriers"][0], "group": "Quay"}]}, "carriers[0].group"),
        ({**PLAN, "carriers": [{**PLAN["carriers"][0], "zone": "Quay"}]}, "carriers[0].zone"),
        ({**PLAN, "carriers": [{**PLAN["carriers"][0], "frequency_hz": 470_000_001}]}, "carriers[0].frequency_hz"),
        ({**PLAN, "carriers": [{**PLAN["carriers"][0], "channel": "house-1/carrier/1"}]}, "carriers[0].channel"),
        ({**PLAN, "carriers": [PLAN["carriers"][0]] * 2}, "carriers[1].frequency_hz"),
        (
            {**PLAN, "spares": [{"group": "House", "zone": "House", "frequency_hz": 25_000, "rank": 0}]},
            "spares[0].rank",
        ),
        ({**PLAN, "seconds": -1}, "seconds"),
        ({**PLAN, "relaxations": [{"words": "x" * 301, "carriers": 1, "gain": 1}]}, "relaxations[0].words"),
    ],
)
def test_a_wrong_plan_is_refused_whole_with_its_key(
    stage: Stage, engineer: TestClient, body: dict[str, Any], field: str
) -> None:
    before = list(stage.console.documents.kept)
    found = refused(engineer.put(QUAY, json=body, headers=SEEN), 422, "value-refused")
    assert found["field"] == field
    assert stage.console.documents.kept == before


def test_a_refusal_repeats_no_text_that_was_sent(engineer: TestClient) -> None:
    profile = {**REQUEST["profile"][0], "name": "Marmelade"}
    answer = engineer.put(QUAY, json=with_request(profile=[profile]), headers=SEEN)
    refused(answer, 422, "value-refused")
    assert "Marmelade" not in answer.text


def test_bodies_that_are_no_plan_at_all(engineer: TestClient) -> None:
    refused(engineer.put(QUAY, json=[PLAN], headers=SEEN), 422, "invalid-request")
    refused(
        engineer.put(QUAY, content=b"{", headers={**SEEN, "Content-Type": "application/json"}), 400, "unreadable-body"
    )
    refused(engineer.put(QUAY, content=b"x", headers={**SEEN, "Content-Type": "text/csv"}), 415, "media-type-refused")


def test_there_are_so_many_plans(engineer: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plans, "PLANS_MAXIMUM", 1)
    refused(engineer.put(NEW, json=PLAN), 429, "limit-reached")
    assert engineer.put(QUAY, json=PLAN, headers=SEEN).status_code == 200


def test_a_search_is_a_job_whose_best_becomes_the_plan_s_next_revision(stage: Stage, engineer: TestClient) -> None:
    begun = engineer.post(f"{QUAY}/find", json={"seed": 3, "seconds": 5.0})
    assert begun.status_code == 202
    job = begun.json()
    assert begun.headers["Location"] == f"/api/v1/jobs/{job['job_id']}"
    assert (job["work"], job["subject"], job["person"]) == ("find a plan", "plan/quay", "Stage Left")
    refused(engineer.post(f"{QUAY}/find", json={}), 409, "not-possible-now")
    assert engineer.get(begun.headers["Location"]).json() == job
    ended = engineer.delete(begun.headers["Location"]).json()
    assert (ended["state"], ended["revision"], len(ended["best"]["carriers"])) == ("stopped", 2, 4)
    answer = engineer.get(QUAY)
    found = answer.json()
    assert answer.headers["ETag"] == '"2"'
    assert (found["complete"], found["seed"], found["title"]) == (True, 3, PLAN["title"])
    assert found["steps"] == ended["best"]["steps"]
    locked = [each for each in found["carriers"] if each["locked"]]
    assert [each["frequency_hz"] for each in locked] == [470_500_000], "what is locked stays"
    assert [each["channel"] for each in found["carriers"] if each["channel"]] == ["house-1/channel/1"]
    assert engineer.post(f"{QUAY}/check").json()["faults"] == []
    assert [(one.document, one.by) for one in stage.console.noted if isinstance(one, DocumentApplied)] == [
        ("plan/quay", "Stage Left")
    ]
    assert engineer.get("/api/v1/jobs").json() == {"items": [ended], "next": None}
    assert engineer.delete(begun.headers["Location"]).json() == ended, "one that is over stays as it is"


def test_a_plan_that_stands_is_not_replaced_by_one_that_is_no_better(engineer: TestClient) -> None:
    ended = []
    for _ in range(2):
        job = engineer.post(f"{QUAY}/find", json={"seed": 3}).json()
        ended.append(engineer.delete(f"/api/v1/jobs/{job['job_id']}").json())
    assert [each["revision"] for each in ended] == [2, None]
    assert "no worse" in ended[1]["words"]
    assert engineer.get(QUAY).headers["ETag"] == '"2"'


@pytest.mark.parametrize(
    "meanwhile",
    [
        with_request(raster_hz=50_000),
        {**PLAN, "carriers": [{**each, "locked": True} for each in PLAN["carriers"]]},
    ],
)
def test_a_search_for_what_is_no_longer_asked_changes_nothing(engineer: TestClient, meanwhile: dict[str, Any]) -> None:
    job = engineer.post(f"{QUAY}/find", json={}).json()
    assert engineer.put(QUAY, json=meanwhile, headers=SEEN).status_code == 200
    ended = engineer.delete(f"/api/v1/jobs/{job['job_id']}").json()
    assert (ended["revision"], "changed meanwhile" in ended["words"]) == (None, True)
    assert engineer.get(QUAY).headers["ETag"] == '"2"'


def test_a_title_that_changed_meanwhile_stays_changed(engineer: TestClient) -> None:
    job = engineer.post(f"{QUAY}/find", json={}).json()
    engineer.put(QUAY, json={**PLAN, "title": "Third night"}, headers=SEEN)
    assert engineer.delete(f"/api/v1/jobs/{job['job_id']}").json()["revision"] == 3
    found = engineer.get(QUAY).json()
    assert (found["title"], len(found["carriers"])) == ("Third night", 4)


def test_a_search_is_asked_for_strictly(engineer: TestClient) -> None:
    for wrong in ({"seed": -1}, {"seed": 1.5}, {"seconds": 0}, {"seconds": 3_601}, {"steps": -1}, {"haste": True}):
        refused(engineer.post(f"{QUAY}/find", json=wrong), 422, "invalid-request")
    refused(engineer.post(f"{NEW}/find", json={}), 404, "not-found")


def test_check_field_and_products(viewer: TestClient) -> None:
    verdict = viewer.post(f"{QUAY}/check").json()
    lacks = ["House: 3 of 4 carriers stand"]
    assert verdict == {"faults": [], "worst_margin_hz": 100_000, "worst_ratio_db": None, "missing": lacks}
    field = viewer.get(f"{QUAY}/field").json()
    assert (field["start_hz"], field["step_hz"], len(field["third"])) == (470_000_000, 25_000, 321)
    # By hand, in half megahertz from 470: carriers 0, 1, 3. 2A-B: -1, -3, 2, -1, 6, 5; A+B-C: 0+1-3, 0+3-1, 1+3-0.
    assert {at: count for at, count in enumerate(field["third"]) if count} == {40: 2, 80: 1, 100: 1, 120: 1}
    listed = viewer.get(f"{QUAY}/products", params={"frequency_hz": 471_000_000, "order": "3"}).json()["items"]
    assert sorted((each["family"], each["makers_hz"]) for each in listed) == [
        ("2A-B", [470_500_000, 470_000_000]),
        ("A+B-C", [470_000_000, 471_500_000, 470_500_000]),
    ]
    assert {each["frequency_hz"] for each in listed} == {471_000_000}
    # 3B-2A falls on 1.5 MHz above 470, where no product of the third order does.
    fifth = viewer.get(f"{QUAY}/products", params={"frequency_hz": 471_500_000}).json()["items"]
    assert {"family": "3A-2B", "makers_hz": [470_500_000, 470_000_000]}.items() <= fifth[0].items()
    third = viewer.get(f"{QUAY}/products", params={"frequency_hz": 471_500_000, "order": "3"}).json()
    assert third == {"items": [], "next": None}
    off = refused(viewer.get(f"{QUAY}/products", params={"frequency_hz": 471_000_001}), 422, "value-refused")
    assert off["allowed"] == {"multipleOf": 25_000}
    refused(viewer.get(f"{QUAY}/products"), 422, "invalid-request")
    refused(viewer.get(f"{QUAY}/field?zone=Nowhere"), 404, "not-found")
    assert viewer.get(f"{QUAY}/field?zone=House").json() == field


def test_reckonings_and_jobs_are_bounded_and_say_so(stage: Stage, engineer: TestClient) -> None:
    stage.console.jobs.fails_with = LimitReached("jobs that wait", 8)
    for method, path, body in (
        ("POST", f"{QUAY}/find", {}),
        ("POST", f"{QUAY}/check", None),
        ("GET", f"{QUAY}/field", None),
        ("PUT", NEW, PLAN),
    ):
        answer = engineer.request(method, path, json=body)
        refused(answer, 429, "limit-reached")
        assert answer.headers["Retry-After"] == "1"


def test_who_may_do_what(stage: Stage) -> None:
    operator = stage.client(Role.OPERATOR)
    assert operator.get(QUAY).status_code == operator.post(f"{QUAY}/check").status_code == 200
    for answer in (
        operator.put(QUAY, json=PLAN, headers=SEEN),
        operator.post(f"{QUAY}/find", json={}),
        operator.delete("/api/v1/jobs/1"),
    ):
        assert refused(answer, 403, "role-missing")["needed_role"] == "engineer"


def test_jobs_are_listed_page_by_page_newest_first(stage: Stage, engineer: TestClient) -> None:
    for number in range(3):
        stage.console.documents.kept.append(Document("plan", f"night-{number}", 1, PLAN, "Engineer", 7))
        assert engineer.post(f"/api/v1/plans/night-{number}/find", json={}).status_code == 202
    first = engineer.get("/api/v1/jobs?limit=2").json()
    assert [each["subject"] for each in first["items"]] == ["plan/night-2", "plan/night-1"]
    rest = engineer.get(f"/api/v1/jobs?limit=2&cursor={first['next']}").json()
    assert ([each["subject"] for each in rest["items"]], rest["next"]) == (["plan/night-0"], None)
    refused(engineer.get("/api/v1/jobs/77"), 404, "not-found")
