"""What a device says of itself by DNS-SD, and what a lying one may not make anybody read."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from fleet.ids import is_device_id
from fleet.protocol.announcement import SERVICE_TYPE, TEXT_MAXIMUM, Announcement, announcement_of, plain, properties_of


def test_what_is_announced_is_read() -> None:
    said = Announcement("quay-1", "receiver", simulated=True, secure=True, path="/device")
    as_sent = {key.encode(): value.encode() for key, value in properties_of(said).items()}
    assert announcement_of(as_sent) == said
    assert as_sent[b"txtvers"] == b"1"


def test_names_and_keys_are_as_short_as_the_standards_ask() -> None:
    """The lengths are those of RFC 6335 section 5.1 and RFC 6763 section 6.4."""
    service = SERVICE_TYPE.split(".", maxsplit=1)[0]
    assert service.startswith("_")
    assert len(service) - 1 <= 15
    assert all(len(key) <= 9 for key in properties_of(Announcement("quay-1", "receiver", simulated=False)))


def test_nothing_said_is_nothing_believed() -> None:
    assert announcement_of({}) == Announcement("")
    assert announcement_of({b"id": None, b"sim": None}) == Announcement("")


@given(st.dictionaries(st.sampled_from([b"id", b"kind", b"sim", b"tls", b"path"]), st.none() | st.binary(max_size=300)))
def test_a_lying_record_leaves_only_plain_text(properties: dict[bytes, bytes | None]) -> None:
    said = announcement_of(properties)
    assert not said.device_id or is_device_id(said.device_id)
    assert said.kind.isprintable()
    assert len(said.kind) <= TEXT_MAXIMUM
    assert said.simulated in {None, True, False}
    assert said.path.startswith("/")
    assert said.path.isascii()
    assert "\n" not in said.path


def test_what_would_not_print_is_shown_as_such() -> None:
    assert plain("a\u202eb\x1b[31m\nc") == "a\ufffdb\ufffd[31m\ufffdc"
    assert plain("a" * 100) == "a" * TEXT_MAXIMUM
