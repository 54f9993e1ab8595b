"""The API's description: valid, complete, and true of what is answered."""

from __future__ import annotations

from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings
from openapi_spec_validator import validate
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.problems import MEDIA_TYPE
from api.roles import Role, role_table
from tests.api.conftest import COOKIE, SITE, make_stage

STAGE = make_stage()
DOCUMENT: dict[str, Any] = STAGE.app.openapi()
OPERATIONS = [
    (method.upper(), path, operation)
    for path, methods in DOCUMENT["paths"].items()
    for method, operation in methods.items()
]
CASES_EACH = 8


def test_the_document_is_openapi_3_1() -> None:
    assert DOCUMENT["openapi"].startswith("3.1")
    validate(DOCUMENT)


def test_every_route_of_the_api_is_described() -> None:
    routes = {(method, path) for method, path, _ in role_table(STAGE.app.routes) if method != "WEBSOCKET"}
    pages = {("GET", "/"), ("GET", "/api/docs"), ("GET", "/api/v1/openapi.json"), ("GET", "/ui/{path:path}")}
    assert {(method, path) for method, path, _ in OPERATIONS} == routes - pages


@pytest.mark.parametrize(("method", "path", "operation"), OPERATIONS)
def test_each_operation_tells_its_role_its_purpose_and_its_problems(
    method: str, path: str, operation: dict[str, Any]
) -> None:
    assert operation["description"].endswith("."), (method, path)
    assert operation["x-role"] in {role.value for role in Role}
    assert (operation["security"] == []) == (operation["x-role"] == "everyone")
    for status, answer in operation["responses"].items():
        if int(status) >= 400:
            assert list(answer["content"]) == [MEDIA_TYPE], (method, path, status)
    wanted = {"400", "403", "413", "429", "500"} | (set() if operation["security"] == [] else {"401"})
    assert wanted <= operation["responses"].keys()
    if "requestBody" in operation:
        assert {"415", "422"} <= operation["responses"].keys()
    if method == "PATCH":
        assert {"412", "428"} <= operation["responses"].keys()


def test_nothing_of_the_frame_s_own_error_shape_is_left() -> None:
    assert "HTTPValidationError" not in str(DOCUMENT)


HOST = SITE.removeprefix("http://")
schema = schemathesis.openapi.from_asgi("/api/v1/openapi.json", STAGE.app, headers={"Host": HOST})


ours = schema.include(path_regex="^/(api|healthz)")
at_random = hypothesis_settings(
    max_examples=CASES_EACH, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck), database=None
)
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
NAMES = {
    "device_id": "house-1",
    "name": "quay",
    "pack": "k01",
    "carrier": "1",
    "channel": "1",
    "branch": "a",
    "output": "1",
    "socket": "a",
    "bay": "1",
    "rule_id": "weak-rf",
    "kind": "positions",
    "key": "1",
}


def _revision_of(path: str) -> str:
    if "/rules/" in path:
        return str(STAGE.console.rule_revision)
    if "/device-list" in path:
        return str(STAGE.console.roster.listed()[1])
    if "/production" in path:
        return str(STAGE.console.production_revision)
    return f"b1.{STAGE.console.revision}"


@schemathesis.serializer("application/toml")
def as_toml(_: Any, value: Any) -> bytes:
    """Whatever is made up is sent as it prints, which is seldom TOML."""
    return str(value).encode("utf-8", "replace")


def ask(case: schemathesis.Case[Any]) -> schemathesis.Response:
    """Ask as an engineer; no 5xx, and the answer has a declared status, media type and shape."""
    case.headers["Host"] = HOST
    case.cookies[COOKIE] = STAGE.cookie(Role.ENGINEER)
    answer = case.call()
    case.validate_response(answer, checks=CHECKS)
    return answer


@ours.parametrize()
@at_random
def test_what_is_asked_at_random_is_answered_as_described(case: schemathesis.Case[Any]) -> None:
    ask(case)


@schema.include(method="PATCH").parametrize()
@at_random
def test_a_write_of_something_that_is_there_is_answered_as_described(case: schemathesis.Case[Any]) -> None:
    """With names and a revision that exist the request reaches the values."""
    case.path_parameters.update({name: NAMES[name] for name in case.path_parameters})
    case.headers["If-Match"] = f'"{_revision_of(case.path)}"'
    assert ask(case).status_code not in {412, 428}


def test_a_patch_gives_no_defaults_that_a_client_could_send_by_itself() -> None:
    described = STAGE.app.openapi()["paths"]["/api/v1/rules/{rule_id}"]["patch"]["requestBody"]["content"]
    members = described["application/json"]["schema"]["properties"]
    assert set(members) >= {"limit", "deadband", "enabled"}
    assert [name for name, member in members.items() if "default" in member] == []
