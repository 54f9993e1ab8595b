"""The written description of the API says what the code does."""

from __future__ import annotations

from pathlib import Path

from api import desk, door, live, security
from api.body import DEPTH_MAXIMUM
from api.problems import KINDS
from api.roles import role_table
from tests.api.conftest import make_stage

TEXT = (Path(__file__).parents[2] / "docs" / "api.md").read_text(encoding="utf-8")


def rows_under(heading: str) -> list[str]:
    """The rows of the table under that heading, without its own head."""
    section = TEXT.split(f"\n## {heading}\n", 1)[1].split("\n## ", 1)[0]
    return [line for line in section.splitlines() if line.startswith("|")][2:]


def test_the_table_of_roles_is_the_code_s() -> None:
    wanted = [f"| {method} | `{path}` | {role} |" for method, path, role in role_table(make_stage().app.routes)]
    assert rows_under("Roles") == wanted


def test_the_table_of_problems_is_the_code_s() -> None:
    wanted = [f"| `{kind.code}` | {kind.status} | {kind.title}. {kind.remedy} |" for kind in KINDS.values()]
    assert rows_under("Errors") == wanted


def test_the_bounds_are_the_code_s() -> None:
    bounds = " ".join(TEXT.split("\n## Bounds\n", 1)[1].split())
    assert door.BODY_BYTES_MAXIMUM == 1_048_576
    assert f"{DEPTH_MAXIMUM} deep" in bounds
    assert f"{door.REQUESTS_A_SECOND} a second from one machine, {door.REQUESTS_AT_ONCE} at once" in bounds
    assert f"Live connections: {desk.LIVE_CONNECTIONS_MAXIMUM}," in bounds
    assert f"Sessions: {security.SESSIONS_MAXIMUM}," in bounds
    assert f"Unused launch links: {security.LAUNCHES_MAXIMUM}." in bounds
    assert (live.SEND_WITHIN_S, live.SUBSCRIBE_WITHIN_S, security.LAUNCH_LASTS_S) == (5.0, 5.0, 300)
