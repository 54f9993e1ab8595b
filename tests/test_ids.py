"""Ids have one shape, wherever they stand."""

from __future__ import annotations

import re

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.declared import NamePath
from fleet.ids import COMMAND_ID_PATTERN, ID_PATTERN, is_device_id, is_id
from fleet.model.address import parse_address
from fleet.protocol.messages import CommandId, DeviceId


def test_pack_is_reserved_and_ids_are_bounded() -> None:
    assert not is_device_id("pack")
    assert is_id("pack")
    assert is_device_id("a" * 64)
    assert not is_device_id("a" * 65)


@given(st.text(max_size=70) | st.from_regex(r"[a-zA-Z0-9._/\n-]{1,66}", fullmatch=True))
def test_the_wire_the_addresses_and_the_api_allow_the_same(text: str) -> None:
    def on_the_wire(kind: object) -> bool:
        try:
            msgspec.convert(text, kind)
        except msgspec.ValidationError:
            return False
        return True

    allowed = is_id(text)
    assert on_the_wire(DeviceId) == allowed
    assert on_the_wire(CommandId) == (re.fullmatch(COMMAND_ID_PATTERN, text) is not None)
    if allowed:
        assert parse_address(f"quay-1/channel/{text}").name == text
    else:
        with pytest.raises(ValueError, match=r"each part|not the address"):
            parse_address(f"quay-1/channel/{text}")


def test_the_api_declares_that_shape() -> None:
    (declared,) = NamePath.__metadata__  # type: ignore[attr-defined]  # An annotated type has it at run time.
    assert [rule.pattern for rule in declared.metadata if hasattr(rule, "pattern")] == [f"^{ID_PATTERN}$"]
