"""The JSON Schema of everything the API sends, made from the dataclasses themselves.

One source for two readers: the OpenAPI document and the screen's TypeScript types. Answers carry every member always
(the codec leaves nothing out), so every member is required, but in ``Problem``.
"""

from __future__ import annotations

from typing import Any, get_args

import msgspec

from api import answers, live_messages
from api.people_answers import NewToken, OpenSession
from api.problems import ProblemKind
from fleet.model.act import ScanLevels
from fleet.model.ahead import Ahead
from fleet.model.alarm import Alarm
from fleet.model.command import Command
from fleet.model.device import DeviceView
from fleet.model.device_list import DeviceEntry, DeviceList, Discovery, ListRevision, Looked
from fleet.model.document import DocumentRevision
from fleet.model.event import Event
from fleet.model.forecast import Forecast
from fleet.model.gear_tuning import GearTuning
from fleet.model.job import Job
from fleet.model.matter import Matter
from fleet.model.person import Person, SessionFacts, TokenFacts
from fleet.model.plan import Plan, PlanFacts, PlanProduct, PlanVerdict, ProductField
from fleet.model.production import Production
from fleet.model.region import Region
from fleet.model.retune import RetuneFacts, RetunePreview, RetuneRun
from fleet.model.rule import Rule
from fleet.model.settings import SettingsView
from fleet.model.snapshot import Snapshot
from fleet.model.survey import Scan, ScanFacts
from fleet.model.survey_found import ScanComparison, ScanFound

Schema = dict[str, Any]
REFERENCE = "#/components/schemas/{name}"
_SPARSE = {"Problem"}
_ROOTS = (
    Snapshot,
    DeviceView,
    DeviceEntry,
    DeviceList,
    Discovery,
    ListRevision,
    Looked,
    SettingsView,
    Command,
    ScanLevels,
    Alarm,
    Matter,
    Production,
    DocumentRevision,
    Ahead,
    Rule,
    Plan,
    PlanFacts,
    PlanVerdict,
    ProductField,
    PlanProduct,
    Forecast,
    RetunePreview,
    RetuneRun,
    RetuneFacts,
    Job,
    Scan,
    ScanFacts,
    ScanFound,
    ScanComparison,
    Region,
    GearTuning,
    answers.RowView,
    answers.SessionView,
    answers.Problem,
    answers.Health,
    Person,
    SessionFacts,
    TokenFacts,
    OpenSession,
    NewToken,
    ProblemKind,
    *get_args(live_messages.LiveMessage),
)
EVENT_SHAPES: tuple[Any, ...] = get_args(Event)


def reference(name: str) -> Schema:
    """A reference to a named shape."""
    return {"$ref": REFERENCE.format(name=name)}


def components() -> dict[str, Schema]:
    """Every named shape by its name, in a fixed order."""
    _, made = msgspec.json.schema_components([*_ROOTS, *EVENT_SHAPES], ref_template=REFERENCE)
    for name, schema in made.items():
        if name not in _SPARSE and "properties" in schema:
            schema["required"] = list(schema["properties"])
        for member in schema.get("properties", {}).values():
            member.pop("default", None)
    for shape in EVENT_SHAPES:
        made[shape.__name__] = _as_recorded(made[shape.__name__], shape)
    made["RecordedEvent"] = {
        "title": "RecordedEvent",
        "description": "An event with its place in the order of this site's journal.",
        "anyOf": [reference(shape.__name__) for shape in EVENT_SHAPES],
    }
    made["EventsMessage"]["properties"]["events"] = {"type": "array", "items": reference("RecordedEvent")}
    made["LiveMessage"] = {
        "title": "LiveMessage",
        "description": "Any text message that the live WebSocket sends.",
        "anyOf": [reference(shape.__name__) for shape in get_args(live_messages.LiveMessage)],
    }
    return dict(sorted(made.items()))


def page_of(name: str) -> Schema:
    """The shape of one page of a list: its items, and the cursor of the next page or null."""
    return {
        "type": "object",
        "required": ["items", "next"],
        "properties": {
            "items": {"type": "array", "items": reference(name)},
            "next": {"anyOf": [{"type": "string"}, {"type": "null"}]},
        },
    }


def _as_recorded(schema: Schema, shape: Any) -> Schema:
    """The event's schema with its sequence number, kind and version in front, as the feed and the journal show it."""
    leading = {
        "sequence": {"type": "integer", "minimum": 1},
        "kind": {"const": shape.kind},
        "version": {"const": shape.version},
    }
    properties = {**leading, **schema["properties"]}
    return {**schema, "properties": properties, "required": list(properties)}
