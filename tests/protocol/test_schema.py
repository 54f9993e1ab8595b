"""The documents of the protocol say what the code does."""

from __future__ import annotations

import dataclasses
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from fleet.model.capability import ACTS, ActCapability, Capability
from fleet.model.device import KINDS, DeviceDescription
from fleet.protocol import messages
from fleet.protocol.document import with_generated_parts
from fleet.protocol.schema import DOCUMENTS, SCHEMA_FILE, SPECIFICATION_FILE, main, schema
from tests.protocol.transcripts import names, transcript

SPECIFICATION = (DOCUMENTS / SPECIFICATION_FILE).read_text(encoding="utf-8")
EXAMPLES = [json.loads(block) for block in re.findall(r"```json\n(.*?)```", SPECIFICATION, re.DOTALL)]
VALIDATOR = jsonschema.Draft202012Validator(schema())


def all_messages() -> list[dict[str, Any]]:
    lines = [line for name in names() for line in transcript(name, whole=False) if line.hears or line.data]
    return [json.loads(line.message) for line in lines]


def test_the_documents_are_up_to_date(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--check"]) == 0, "run: python -m fleet.protocol.schema --write"
    assert capsys.readouterr().out == ""


def test_documents_that_drifted_are_found_and_mended(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / SCHEMA_FILE).write_text("{}", encoding="utf-8")
    drifted = SPECIFICATION.replace("| opening | console | hello | greeting |", "| opening | device | hello | live |")
    assert drifted != SPECIFICATION
    (tmp_path / SPECIFICATION_FILE).write_text(drifted, encoding="utf-8")
    assert main(["--check"], tmp_path) == 1
    assert main(["--write"], tmp_path) == 0
    assert main(["--check"], tmp_path) == 0
    assert (tmp_path / SPECIFICATION_FILE).read_text(encoding="utf-8") == SPECIFICATION
    assert "out of date" in capsys.readouterr().out


def test_a_part_that_does_not_exist_is_a_mistake() -> None:
    with pytest.raises(KeyError):
        with_generated_parts("<!-- generated: weather -->\n<!-- end -->")


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("message", all_messages(), ids=lambda message: json.dumps(message)[15:70])
def test_every_message_of_the_transcripts_fits_the_schema(message: dict[str, Any]) -> None:
    VALIDATOR.validate(message)


WRONG: dict[str, dict[str, Any]] = {
    "an address with a space": {"method": "read", "id": 1, "params": {"target": "quay 1"}},
    "no target": {"method": "read", "id": 1, "params": {}},
    "a write of nothing": {
        "method": "write",
        "id": 1,
        "params": {"target": "pack/k17", "command_id": "c", "revision": "b.1", "changes": {}},
    },
    "null as a setting": {
        "method": "changed",
        "params": {"address": "quay-1", "revision": "b.1", "cause": "panel", "settings": {"name": None}},
    },
    "an unknown cause": {
        "method": "changed",
        "params": {"address": "quay-1", "revision": "b.1", "cause": "tide", "settings": {}},
    },
    "text as a value": {
        "method": "readings",
        "params": {"subscription": 1, "sequence": 1, "device_time_us": 1, "values": ["-55"]},
    },
    "both result and error": {"id": 1, "result": {"device_time_us": 1}, "error": {"code": 1, "message": ""}},
    "neither": {"id": 1},
    "a fractional id": {"id": 1.5, "result": {"device_time_us": 1}},
}


@pytest.mark.parametrize("name", WRONG)
def test_what_the_codec_refuses_the_schema_refuses(name: str) -> None:
    assert not VALIDATOR.is_valid({"jsonrpc": "2.0", **WRONG[name]})


def test_every_example_of_the_specification_is_in_a_transcript() -> None:
    known = all_messages()
    assert [example for example in EXAMPLES if example not in known] == []


def test_every_method_and_notification_has_a_section_and_an_example() -> None:
    for name in (*messages.REQUESTS, *messages.NOTIFICATIONS):
        section = re.search(rf"### {name}\n(.*?)(?=\n##|\Z)", SPECIFICATION, re.DOTALL)
        assert section is not None, name
        assert f'"method": "{name}"' in section[1], name


def test_every_error_of_the_transcripts_names_its_word() -> None:
    errors = [message["error"] for message in all_messages() if "error" in message]
    assert errors
    for error in errors:
        assert f"| {error['code']} | {error['data']['code']} |" in SPECIFICATION


def test_every_known_act_and_kind_of_device_has_a_row() -> None:
    for name in (*ACTS, *KINDS):
        assert f"\n| `{name}` |" in SPECIFICATION, name


@pytest.mark.parametrize("shape", [DeviceDescription, Capability, ActCapability])
def test_every_member_of_a_description_is_explained(shape: type) -> None:
    for field in dataclasses.fields(shape):
        assert f"`{field.name}`" in SPECIFICATION, field.name


def test_what_the_specification_leads_to_is_there() -> None:
    for link in re.findall(r"\]\(([^)#]+)\)", SPECIFICATION):
        assert (DOCUMENTS / link).exists(), link


def test_every_chapter_that_is_linked_is_there() -> None:
    titles = re.findall(r"^#{2,3} (.+)$", SPECIFICATION, re.MULTILINE)
    anchors = {re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-") for title in titles} | {"readings-1"}
    assert set(re.findall(r"\]\(#([^)]+)\)", SPECIFICATION)) <= anchors
