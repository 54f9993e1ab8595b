"""A recording plays back what was heard, in order and in time; damage is said with its line, and ends it."""

from __future__ import annotations

import asyncio
from pathlib import Path

import numpy as np
import pytest

from api.compose.memory_link import MemoryLink
from fleet.adapters.catalog import Catalog
from fleet.adapters.open_json import OpenJsonAdapter
from fleet.adapters.recording import Recording
from fleet.adapters.redaction import Redaction
from fleet.adapters.replay import ReplayAdapter, Tape
from fleet.adapters.supervisor import Supervisor
from fleet.adapters.trace_file import TraceWriter
from fleet.clock import LoopClock
from fleet.config import DeviceAddress, Replay
from fleet.errors import ContactFailed, DamagedTrace
from fleet.model.device import ContactState
from fleet.model.settings import Cause
from tests.adapters.fake_device import PACK
from tests.adapters.rig import DEVICE_ID, Heard, Rig, command
from tests.adapters.tape import ReplayRig, header, record, timeless
from tests.adapters.way import WAY
from tests.simulator.small_stage import fleet_of, two_channels
from tests.virtual_time import run_virtual


async def busy_evening(rig: Rig) -> None:
    """Everything that an observation may hold: changes, a command and its answers, a notice, a gap, a read-back."""
    await rig.device.say(rig.device.change(PACK, {"low_cut_hz": 40, "name": "Crier"}, Cause.PANEL))
    await rig.adapter.write(command(low_cut_hz=120, revision="boot-1.2"))
    await rig.clock.sleep(0.3)
    rig.device.sequence += 3
    await rig.device.say(rig.device.frame(4))
    await rig.adapter.read_back(PACK)
    await rig.adapter.read_back("pack/k99")


def test_the_same_is_heard_in_the_same_order(tmp_path: Path) -> None:
    async def main() -> None:
        file = tmp_path / "quay-1.jsonl"
        recorded = await record(file, busy_evening)
        rig = ReplayRig(file)
        assert "has ended: asked to end" in str(await rig.play_to_the_end())
        assert timeless(rig.heard.items) == timeless(recorded.heard.items)
        assert any(item.notices for item in rig.heard.observations)
        assert any(item.answers for item in rig.heard.observations)

    run_virtual(main())


def test_a_simulated_receiver_is_heard_the_same(tmp_path: Path) -> None:
    async def main() -> None:
        clock, heard, file = LoopClock(0), Heard(), tmp_path / "quay.jsonl"
        link = MemoryLink(fleet_of(two_channels()), clock)
        turning = asyncio.create_task(link.run())
        device = link.addresses()[0]
        writer = TraceWriter(file, header(clock, device_id=device.device_id))
        recording = Recording(writer, clock, Redaction(names=False))
        adapter = OpenJsonAdapter(device, recording.connect(link.connect), clock, recording.sink(heard))
        await adapter.connect()
        running = asyncio.create_task(adapter.run())
        await clock.sleep(20.0)
        recording.end("asked to end")
        for task in (running, turning):
            task.cancel()
        await asyncio.gather(running, turning, return_exceptions=True)
        await adapter.close()

        again = Heard()
        replay = Replay(file)
        player = ReplayAdapter(DeviceAddress(device.device_id, "replay:quay.jsonl", replay), Tape(replay), clock, again)
        began_us = clock.monotonic_us()
        await player.connect()
        with pytest.raises(ContactFailed, match="has ended"):
            await player.run()
        assert len(again.frames) > 150
        assert timeless(again.items) == timeless(heard.items)
        assert clock.monotonic_us() - began_us == pytest.approx(20_000_000, abs=200_000)
        await player.close()

    run_virtual(main())


@pytest.mark.parametrize("speed", [0.5, 1.0, 20.0])
def test_moments_keep_the_recorded_pace_or_a_given_one(tmp_path: Path, speed: float) -> None:
    async def main() -> None:
        file = tmp_path / "quay-1.jsonl"
        recorded = await record(file, busy_evening)
        rig = ReplayRig(file, speed)
        await rig.play_to_the_end()
        first, began = recorded.heard.items[0].at.monotonic_us, rig.heard.items[0].at.monotonic_us
        contacts = zip(recorded.heard.contacts, rig.heard.contacts, strict=True)
        for then, now in contacts:
            assert now.at.monotonic_us - began == pytest.approx((then.at.monotonic_us - first) / speed, abs=2)

    run_virtual(main())


def test_under_the_supervisor_a_loop_begins_anew_and_an_end_stays_one(tmp_path: Path) -> None:
    async def main() -> None:
        await record(tmp_path / "quay-1.jsonl")
        for loop in (True, False):
            clock, heard = LoopClock(0), Heard()
            address = DeviceAddress(DEVICE_ID, "replay:quay-1.jsonl", Replay(tmp_path / "quay-1.jsonl", 1.0, loop))
            catalog = Catalog(WAY.to, clock)
            supervisor = Supervisor(clock, np.random.default_rng(3), heard, catalog.adapter)
            await supervisor.start((address,))
            await clock.sleep(30.0)
            await supervisor.stop()
            introductions = [contact for contact in heard.contacts if contact.description is not None]
            lost = [contact for contact in heard.contacts if contact.state is ContactState.LOST]
            assert (len(introductions) > 3, len(introductions) == 1) == (loop, not loop)
            assert bool(lost) is not loop
            if not loop:
                assert "the recording has ended" in lost[-1].reason

    run_virtual(main())


def test_a_recording_of_another_device_is_refused(tmp_path: Path) -> None:
    async def main() -> None:
        file = tmp_path / "quay-1.jsonl"
        await record(file)
        replay = Replay(file)
        player = ReplayAdapter(
            DeviceAddress("quay-9", "replay:quay-1.jsonl", replay), Tape(replay), LoopClock(0), Heard()
        )
        with pytest.raises(ContactFailed, match="the recording is of quay-1"):
            await player.connect()
        await player.close()

    run_virtual(main())


def test_what_comes_before_the_damage_is_played_and_then_the_line_is_named(tmp_path: Path) -> None:
    async def main() -> None:
        file = tmp_path / "quay-1.jsonl"
        await record(file, busy_evening)
        lines = file.read_bytes().splitlines(keepends=True)
        for kept, tail, words in (
            (len(lines) - 1, b"", "breaks off here, without an end"),
            (len(lines) - 3, lines[-3][:-9], "the line breaks off"),
            (20, b'{"kind":"song"}\n', "song"),
            (20, b"\x00\xff\n", "JSON is malformed"),
        ):
            file.write_bytes(b"".join(lines[:kept]) + tail)
            rig = ReplayRig(file)
            error = await rig.play_to_the_end()
            assert isinstance(error, DamagedTrace)
            assert error.line == kept + 1
            assert words in error.reason
            facts = [line for line in lines[1:kept] if b'"kind":"observation"' in line or b'"kind":"contact"' in line]
            assert len(rig.heard.items) == len(facts)

    run_virtual(main())


def test_a_recording_without_an_introduction_ends_in_words(tmp_path: Path) -> None:
    async def main() -> None:
        file, clock = tmp_path / "quay-1.jsonl", LoopClock(0)
        Recording(TraceWriter(file, header(clock)), clock, Redaction(names=False)).end("asked to end")
        assert "holds no introduction" in str(await ReplayRig(file).play_to_the_end())

    run_virtual(main())


def test_facts_keep_their_kinds(tmp_path: Path) -> None:
    async def main() -> None:
        file = tmp_path / "quay-1.jsonl"
        await record(file)
        rig = ReplayRig(file)
        await rig.play_to_the_end()
        frame = rig.heard.frames[0]
        assert frame.values.dtype == np.float64
        assert frame.qualities is not None
        assert frame.qualities.dtype == np.uint8
        frequency = next(report for report in rig.heard.reports if "frequency_hz" in report.settings)
        assert type(frequency.settings["frequency_hz"]) is int

    run_virtual(main())
