"""A recording is bounded, goes on in a next file, and never takes the place of another; its lines are checked."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.adapters.recording import Recording
from fleet.adapters.redaction import Redaction
from fleet.adapters.trace import End, Message, encode_line
from fleet.adapters.trace_file import TraceReader, TraceWriter, part_path
from fleet.adapters.trace_summary import TraceSummary
from fleet.clock import ManualClock
from fleet.errors import DamagedTrace, LimitReached
from fleet.model.moment import Moment
from tests.adapters.rig import Rig
from tests.adapters.tape import ReplayRig, header, record, timeless
from tests.virtual_time import run_virtual

HEAD = header(ManualClock())


def said(number: int, at_us: int = 0) -> Message:
    return Message(monotonic_us=at_us, utc_us=at_us, way="received", size_bytes=9, text=f"message {number}")


def write_all(writer: TraceWriter, count: int) -> None:
    for number in range(count):
        writer.write(said(number))


def test_parts_follow_one_another_and_are_read_as_one(tmp_path: Path) -> None:
    file = tmp_path / "quay-1.jsonl"
    writer = TraceWriter(file, HEAD, part_bytes=600)
    wanted = [said(number, number) for number in range(30)]
    for entry in wanted:
        writer.write(entry)
    writer.close(Moment(99, 99), "asked to end")
    parts = sorted(tmp_path.iterdir())
    assert len(parts) > 3
    assert all(part.stat().st_size < 800 for part in parts)
    *read, end = TraceReader(file).entries()
    assert read == wanted
    assert end == End(monotonic_us=99, utc_us=99, reason="asked to end")


def test_the_last_part_full_is_the_end_and_says_so(tmp_path: Path) -> None:
    writer = TraceWriter(tmp_path / "a.jsonl", HEAD, part_bytes=600, parts=2)
    with pytest.raises(LimitReached):
        write_all(writer, 30)
    assert writer.ended
    *_, end = TraceReader(tmp_path / "a.jsonl").entries()
    assert isinstance(end, End)
    assert "2 files of 600 bytes are full" in end.reason


def test_a_file_that_is_there_is_never_written_over(tmp_path: Path) -> None:
    file = tmp_path / "a.jsonl"
    file.write_text("mine")
    with pytest.raises(FileExistsError):
        TraceWriter(file, HEAD)
    assert file.read_text() == "mine"


def test_a_recording_that_fails_stops_and_harms_nothing_else(tmp_path: Path) -> None:
    clock = ManualClock()
    part_path(tmp_path / "a.jsonl", 2).write_text("in the way")
    recording = Recording(TraceWriter(tmp_path / "a.jsonl", HEAD, part_bytes=600), clock, Redaction(names=False))
    for _ in range(30):
        recording.message("received", b'{"method":"notice"}')
    assert recording.stopped.is_set()
    assert isinstance(recording.failure, FileExistsError)
    assert part_path(tmp_path / "a.jsonl", 2).read_text() == "in the way"


def test_a_second_part_alone_is_refused(tmp_path: Path) -> None:
    writer = TraceWriter(tmp_path / "a.jsonl", HEAD, part_bytes=600)
    for number in range(9):
        writer.write(said(number))
    writer.close(Moment(0, 0), "asked to end")
    with pytest.raises(DamagedTrace, match="part 2 of a recording; give the first part"):
        TraceReader(tmp_path / "a.jsonl.2")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"", "the file is empty"),
        (b'{"kind":"song"}\n', "no header of a trace"),
        (encode_line(HEAD).replace(b'"1.0"', b'"2.0"'), "version 2.0 of the trace; this program reads 1.0"),
        (encode_line(HEAD)[:-1], "the line breaks off"),
    ],
)
def test_what_has_no_header_is_refused(tmp_path: Path, text: bytes, words: str) -> None:
    file = tmp_path / "a.jsonl"
    file.write_bytes(text)
    with pytest.raises(DamagedTrace, match=r"a\.jsonl: line 1: ") as raised:
        TraceReader(file)
    assert words in raised.value.reason


LAYOUT = (
    b'{"kind":"layout","monotonic_us":0,"utc_us":0,"number":1,"interval_ms":100,'
    b'"cells":[["quay-1/carrier/1","floor_dbm"]]}'
)
CONTACT = (
    b'{"kind":"contact","monotonic_us":0,"utc_us":0,"state":"fresh","boot_id":"b","description":{"device_id":"quay-1",'
    b'"kind":"receiver","form":"","simulated":true,"read_only":true}}'
)
FRAME = (
    b'{"kind":"observation","monotonic_us":0,"utc_us":0,'
    b'"frame":{"layout":1,"sequence":1,"device_time_us":0,"values":[null]}}'
)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ((FRAME,), "an observation before the device was introduced"),
        ((CONTACT, FRAME), "a frame of layout 1, which no line before gives"),
        ((CONTACT, LAYOUT, LAYOUT), "layout 1 stands here a second time"),
        ((CONTACT, LAYOUT, FRAME.replace(b"[null]", b"[1,2]")), "a frame of 2 values where the layout has 1"),
        ((CONTACT, LAYOUT, FRAME.replace(b"[null]", b'[1],"qualities":[9]')), "<= 3"),
        ((CONTACT, LAYOUT, FRAME.replace(b'"monotonic_us":0', b'"monotonic_us":-1')), "time runs backwards"),
        ((CONTACT.replace(b"description", b"other"),), "a heartbeat before the device was introduced"),
    ],
)
def test_a_line_that_makes_no_sense_after_those_before_is_named(
    tmp_path: Path, lines: tuple[bytes, ...], words: str
) -> None:
    file = tmp_path / "a.jsonl"
    file.write_bytes(encode_line(HEAD) + b"\n".join(lines) + b"\n")
    with pytest.raises(DamagedTrace) as raised:
        list(TraceReader(file).entries())
    assert raised.value.line == 1 + len(lines)
    assert words in raised.value.reason


def end_or_damage(file: Path) -> End | DamagedTrace:
    try:
        *_, end = TraceReader(file).entries()
    except DamagedTrace as damage:
        return damage
    assert isinstance(end, End)
    return end


@settings(max_examples=60)
@given(st.data())
def test_whatever_is_broken_ends_in_words(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    whole = encode_line(HEAD) + CONTACT + b"\n" + LAYOUT + b"\n" + FRAME + b"\n"
    whole += encode_line(End(monotonic_us=0, utc_us=0, reason="asked to end"))
    at = data.draw(st.integers(0, len(whole) - 1))
    broken = whole[:at] + data.draw(st.binary(max_size=3)) + whole[at + data.draw(st.integers(0, 40)) :]
    file = tmp_path_factory.mktemp("broken") / "a.jsonl"
    file.write_bytes(broken)
    found = end_or_damage(file)
    assert isinstance(found, End) or (found.line >= 1 and found.reason)


def test_a_long_session_in_many_parts_plays_back_whole(tmp_path: Path) -> None:
    async def main() -> None:
        file = tmp_path / "quay-1.jsonl"
        recorded = await record(file, part_bytes=4_000)
        assert part_path(file, 2).exists()
        rig = ReplayRig(file)
        await rig.play_to_the_end()
        assert timeless(rig.heard.items) == timeless(recorded.heard.items)

    run_virtual(main())


def test_a_summary_counts_what_came_and_what_is_missing(tmp_path: Path) -> None:
    async def doing(rig: Rig) -> None:
        rig.device.sequence += 3
        await rig.device.say(rig.device.frame(4))
        rig.device.silent = True
        await rig.clock.sleep(3.2)
        rig.device.silent = False

    async def main() -> None:
        file = tmp_path / "quay-1.jsonl"
        await record(file, doing)
        reader = TraceReader(file)
        summary = TraceSummary(reader.header)
        for entry in reader.entries():
            summary.add(entry)
        assert summary.length_s == pytest.approx(9.25, abs=0.01)
        assert (summary.sequence_gaps, summary.frames_missing) == (1, 3)
        assert [round(silence.lasted_s) for silence in summary.silences] == [4]
        assert summary.messages["sent hello"] == 1
        assert summary.messages["received readings"] == 2
        assert summary.messages["received heartbeat"] == summary.facts["heartbeat"] + 1
        assert summary.facts["frame"] == 2
        assert summary.ended == "asked to end"
        assert "sequence gaps: 1, 3 frames missing" in summary.lines()

    run_virtual(main())


def test_lines_are_compact_json() -> None:
    assert msgspec.json.decode(encode_line(said(1)))["kind"] == "message"
    assert encode_line(said(1)).count(b"\n") == 1
