"""Alarm rules: what makes an alarm, after how long, and when it ends."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Depends
from starlette.responses import Response

from api.body import body_of
from api.declared import NamePath, answers, json_body, many, one
from api.desk import DeskHere
from api.paging import PagingHere, json_response, page
from api.problems import refusal
from api.requests import RulePatch
from api.revision import IfMatch, entity_tag, seen_revision
from api.roles import Role, SessionHere, needs
from fleet.errors import NotFound, RevisionStale

router = APIRouter(prefix="/api/v1/rules", tags=["rules"])


@router.get("", dependencies=[needs(Role.VIEWER)], response_model=None, responses=answers(many("Rule")))
async def list_rules(desk: DeskHere, asked: PagingHere) -> Response:
    """Every rule in force; the ETag is the revision of them all."""
    rules, revision = desk.console.editor.rules()
    shown = page(rules, lambda rule: rule.rule_id, asked)
    shown.headers["ETag"] = entity_tag(str(revision))
    return shown


@router.patch(
    "/{rule_id}",
    dependencies=[needs(Role.ENGINEER)],
    response_model=None,
    responses=answers(
        one("Rule"),
        also=("not-found", "stale-revision", "value-refused", "revision-missing", "journal-unavailable"),
        body=True,
    ),
    openapi_extra=json_body(RulePatch),
)
async def change_rule(
    desk: DeskHere,
    session: SessionHere,
    rule_id: NamePath,
    asked: Annotated[RulePatch, Depends(body_of(RulePatch))],
    if_match: IfMatch = None,
) -> Response:
    """Change numbers of a rule. It takes effect at once; what was before stays in the document's history."""
    rules, revision = desk.console.editor.rules()
    rule = next((one for one in rules if one.rule_id == rule_id), None)
    if rule is None:
        raise NotFound("rule", rule_id)
    seen = seen_revision(if_match)
    if seen != str(revision):
        raise RevisionStale(f"rule/{rule_id}", seen, str(revision), {"limit": rule.limit})
    changes = asked.model_dump(exclude_unset=True)
    if not changes:
        raise refusal("invalid-request", "The patch names nothing to change.")
    changed = replace(rule, **changes)
    new_revision = await desk.console.editor.change_rule(session.person.name, changed, revision)
    return json_response(changed, 200, {"ETag": entity_tag(str(new_revision))})
