"""What every change to the production has in common: the revision that was seen, who does it, the answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Depends
from starlette.responses import Response

from api.declared import Responses, answers
from api.desk import Desk, DeskHere
from api.paging import json_response
from api.problems import refusal
from api.revision import IfMatch, entity_tag, seen_revision
from api.roles import SessionHere
from api.shapes import Schema, reference
from fleet.errors import RevisionStale
from fleet.model.production import Production
from fleet.model.production_json import production_as_object, production_of_object

FILE = "production"
WRITES = ("stale-revision", "value-refused", "revision-missing", "journal-unavailable", "limit-reached")
Change = Callable[[Production], Production]


@dataclass(frozen=True, slots=True)
class Writing:
    """Somebody is about to change the production, and the revision they saw."""

    desk: Desk
    person: str
    seen: str

    async def change(self, change: Change) -> tuple[Production, int]:
        """Do it. Raises as the editor does."""
        editor = self.desk.console.editor
        if not self.seen.isdecimal():
            production, revision = editor.production()
            raise RevisionStale(FILE, self.seen, str(revision), {"name": production.name})
        return await editor.change_production(self.person, int(self.seen), change)


async def _writing(desk: DeskHere, session: SessionHere, if_match: IfMatch = None) -> Writing:
    """Raises RequestRefused, 428 without If-Match."""
    return Writing(desk, session.person.name, seen_revision(if_match))


WritingHere = Annotated[Writing, Depends(_writing)]


async def changed(writing: Writing, change: Change) -> Response:
    """Do it, and answer with the whole production and its new ETag."""
    production, revision = await writing.change(change)
    return json_response(production, 200, {"ETag": entity_tag(str(revision))})


def over_values(change: Callable[[dict[str, Any]], dict[str, Any]]) -> Change:
    """A change of the JSON values as a change of the production; what it makes is read strictly."""
    return lambda production: production_of_object(change(production_as_object(production)), FILE)


def object_of(value: object) -> Mapping[str, Any]:
    """The value, which must be an object. Raises RequestRefused (422)."""
    if not isinstance(value, dict):
        raise refusal("invalid-request", "The body must be an object.")
    return value


def in_every_form(*also: str) -> Responses:
    """The answers of a route that shows a production as JSON, as TOML, or its cast as CSV."""
    found = answers(reference("Production"), also=also)
    for kind in ("application/toml", "text/csv"):
        found[200]["content"][kind] = {"schema": {"type": "string"}}
    return found


def written(schema: Schema, *also: str) -> Responses:
    """The answers of a route that changes the production by a body."""
    return answers(schema, also=(*WRITES, *also), body=True)


def takes(*media_types: str, schema: Schema | None = None) -> dict[str, Any]:
    """The bodies that a route takes, for ``openapi_extra``."""
    content = {kind: {"schema": schema or {"type": "object"}} for kind in media_types}
    return {"requestBody": {"required": True, "content": content}}
