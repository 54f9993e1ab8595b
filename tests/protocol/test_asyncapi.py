"""The AsyncAPI document names every message, and every reference in it leads somewhere.

The structure follows the AsyncAPI 3.0.0 specification (Channel, Operation, Message and Multi Format Schema Objects).
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import jsonschema
import pytest

from fleet.protocol import messages
from fleet.protocol.schema import ASYNCAPI_FILE, DOCUMENTS
from tests.protocol.test_schema import all_messages

DOCUMENT: dict[str, Any] = json.loads((DOCUMENTS / ASYNCAPI_FILE).read_text(encoding="utf-8"))


def references(part: Any) -> Iterator[str]:
    if isinstance(part, list):
        for item in part:
            yield from references(item)
    elif isinstance(part, dict):
        if isinstance(part.get("$ref"), str):
            yield part["$ref"]
        for value in part.values():
            yield from references(value)


def resolved(reference: str) -> Any:
    found: Any = DOCUMENT
    for step in reference.removeprefix("#/").split("/"):
        found = found[step]
    return found


def test_every_reference_leads_somewhere() -> None:
    found = set(references(DOCUMENT))
    assert len(found) > 50
    for reference in found:
        assert reference.startswith("#/"), "the document stands by itself"
        resolved(reference)


def test_only_members_of_the_standard_stand_at_the_top() -> None:
    assert set(DOCUMENT) == {
        "asyncapi",
        "info",
        "defaultContentType",
        "servers",
        "channels",
        "operations",
        "components",
    }
    assert DOCUMENT["asyncapi"] == "3.0.0"


def test_every_request_and_notification_is_an_operation() -> None:
    operations = DOCUMENT["operations"]
    assert set(operations) == {*messages.REQUESTS, *messages.NOTIFICATIONS}
    for name, operation in operations.items():
        assert operation["action"] == ("receive" if name in messages.REQUESTS else "send")
        assert ("reply" in operation) == (name in messages.REQUESTS)


def test_operations_and_replies_take_their_messages_from_their_channel() -> None:
    for operation in DOCUMENT["operations"].values():
        for part in (operation, operation.get("reply", operation)):
            for message in part["messages"]:
                assert message["$ref"].startswith(part["channel"]["$ref"] + "/messages/")


def test_no_message_is_left_out() -> None:
    said = {reference for reference in references(DOCUMENT["operations"]) if "/messages/" in reference}
    assert {reference.rsplit("/", 1)[1] for reference in said} == set(DOCUMENT["channels"]["conversation"]["messages"])


@pytest.mark.parametrize("message", all_messages()[::7], ids=lambda message: json.dumps(message)[15:70])
def test_messages_of_the_transcripts_fit_a_payload(message: dict[str, Any]) -> None:
    payloads = [each["payload"]["schema"] for each in DOCUMENT["components"]["messages"].values()]
    jsonschema.Draft202012Validator({"anyOf": payloads, "components": DOCUMENT["components"]}).validate(message)
