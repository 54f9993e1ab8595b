"""The page about traces says what the lines are."""

from __future__ import annotations

import re
from typing import get_args

from fleet.adapters import trace
from fleet.adapters.trace_file import PART_BYTES_MAXIMUM, PARTS_MAXIMUM
from fleet.adapters.trace_order import LAYOUTS_MAXIMUM
from tests.house.tree import ROOT

PAGE = (ROOT / "docs" / "protocol" / "trace-1.0.md").read_text(encoding="utf-8")
LINES = (trace.Header, *get_args(trace.Entry))


def test_the_page_lists_every_kind_and_every_member() -> None:
    table = dict(re.findall(r"^\| `([a-z]+)` \| (.*) \|$", PAGE, re.MULTILINE))
    assert set(table) == {line.__struct_config__.tag for line in LINES}
    for line in LINES:
        own = set(line.__struct_fields__) - {"monotonic_us", "utc_us"}
        assert own <= set(re.findall(r"`([a-z_]+)`", table[line.__struct_config__.tag])), line
    frame = PAGE[PAGE.index("A `frame` holds") :]
    assert set(trace.Frame.__struct_fields__) <= set(re.findall(r"`([a-z_]+)`", frame[: frame.index("```")]))


def test_the_page_gives_the_bounds_as_they_are() -> None:
    assert f"at most {trace.LINE_BYTES_MAXIMUM >> 20} MiB a line" in PAGE
    assert f"at most {PART_BYTES_MAXIMUM >> 20} MiB" in PAGE
    assert f"at most {PARTS_MAXIMUM} files" in PAGE
    assert f"at most {LAYOUTS_MAXIMUM:,}" in PAGE


def test_the_example_decodes() -> None:
    example = PAGE[PAGE.index("```\n") + 4 :]
    first, *others = example[: example.index("```")].strip().splitlines()
    assert trace.decode_header(first.encode()).device_id == "quay-1"
    whole = [
        line.replace(',…}"', '}"')
        .replace('"device_id":"quay-1",…}', '"device_id":"quay-1",' + WHOLE)
        .replace(",…}", "}")
        for line in others
    ]
    kinds = [type(trace.decode_entry(line.encode())) for line in whole]
    assert kinds == [trace.Message, trace.ContactLine, trace.ObservationLine, trace.End]


WHOLE = '"kind":"receiver","form":"","simulated":true,"read_only":true}'
