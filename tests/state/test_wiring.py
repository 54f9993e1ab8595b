from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from types import FrameType
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.capability import ActCapability, Capability, Condition, Held, SchemaType, ValueSchema
from fleet.model.device import CarrierDescription, ChannelDescription, DeviceDescription, OutputDescription
from fleet.model.production import AntennaPath, Position, Production, Rack
from fleet.readings import LiveTables
from fleet.state import wiring
from fleet.state.shape import Shape
from fleet.state.wiring import Wiring
from fleet.topology import build_topology
from tests.small_fleet import describe, produce

if TYPE_CHECKING:
    from _typeshed import TraceFunction

NAMES = ("quay-1", "quay-2", "tower", "cove")
PACKS = tuple(f"pack/p{number}" for number in range(4))
ON = ValueSchema(SchemaType.BOOLEAN)
packs = st.none() | st.sampled_from(PACKS)


@st.composite
def descriptions(draw: st.DrawFn) -> DeviceDescription:
    """A device whose channels are linked to anybody's packs, in any order, and that offers something of all it has."""
    name = draw(st.sampled_from(NAMES))
    own = draw(st.sets(st.sampled_from(PACKS)).map(sorted).map(tuple))
    linked = draw(st.lists(packs, max_size=3))
    carrier_of = draw(st.lists(st.sampled_from((1, 2)), min_size=len(linked), max_size=len(linked)))
    channels = draw(
        st.permutations(
            [
                ChannelDescription(f"{name}/channel/{number}", f"{name}/carrier/{carrier}", pack)
                for number, (carrier, pack) in enumerate(zip(carrier_of, linked, strict=True), start=1)
            ]
        )
    )
    carriers = tuple(
        CarrierDescription(
            f"{name}/carrier/{number}",
            tuple(f"{name}/carrier/{number}/branch/{label}" for label in draw(st.sampled_from(("", "a", "ab")))),
            tuple(channel.address for channel in channels if channel.carrier.endswith(f"/{number}")),
        )
        for number in (1, 2)
    )
    things = (name, *own, *(each.address for each in carriers), *(each.address for each in channels))
    when = draw(st.sampled_from(((), (Condition("standby", (True,)),))))
    return DeviceDescription(
        name,
        draw(st.sampled_from(("receiver", "in-ear transmitter"))),
        "",
        simulated=True,
        read_only=False,
        carriers=carriers,
        channels=tuple(channels),
        packs=own,
        capabilities=(
            Capability(things[:2], "muted", ON, Held.RECEIVER),
            Capability(things[1:], "muted", ON, Held.RECEIVER, when=when),
        ),
        outputs=(OutputDescription(f"{name}/output/1", "analog"),),
        acts=(ActCapability(things, "identify"), ActCapability(things[-1:], "restart")),
    )


@st.composite
def productions(draw: st.DrawFn) -> Production:
    numbered = st.tuples(st.sampled_from(NAMES), st.integers(1, 3))
    channels = [f"{name}/channel/{number}" for name, number in draw(st.lists(numbered, unique=True))]
    given_packs = draw(st.lists(packs, min_size=len(channels), max_size=len(channels)))
    positions = tuple(
        Position(number, "Nettle", "House", channel, pack, spare=number % 3 == 0)
        for number, (channel, pack) in enumerate(zip(channels, given_packs, strict=True), start=1)
    )
    racks, paths = (Rack("Rack", NAMES[:2]),), (AntennaPath("left", ("quay-1/carrier/1/branch/a",)),)
    return Production("Trial", ("House",), positions, racks, antenna_paths=paths)


@given(st.lists(descriptions() | productions() | st.sampled_from(NAMES), min_size=1, max_size=12))
def test_whatever_comes_and_goes_it_is_as_if_made_anew(happenings: list[DeviceDescription | Production | str]) -> None:
    """A name alone is a device that is removed; a pack that another holds is left to that other."""
    shape = Shape(LiveTables())
    heard: list[str] = []
    for happening in happenings:
        if isinstance(happening, Production):
            shape.set_production(happening)
        elif isinstance(happening, DeviceDescription):
            assert shape.describe(happening.device_id, happening).refused is None
            heard += [happening.device_id] if happening.device_id not in heard else []
        else:
            shape.forget(happening)
            heard = [name for name in heard if name != happening]
        believed = {name: described for name in heard if (described := shape.description(name)) is not None}
        assert list(believed) == heard
        assert shape.topology == build_topology(believed, shape.production)


def test_a_device_that_was_let_go_comes_last_when_it_is_heard_again() -> None:
    """Channels of two devices on one pack stand in the order in which the devices were heard."""
    one, other = (replace(describe(name), packs=(), capabilities=()) for name in NAMES[:2])
    shared = [replace(each, channels=tuple(replace(c, pack=PACKS[0]) for c in each.channels)) for each in (one, other)]
    fleet = Wiring()
    for description in shared:
        fleet.put(description)
    channels = tuple(f"{name}/channel/{number}" for name in NAMES[:2] for number in (1, 2))
    assert fleet.topology.channels_of[PACKS[0]] == channels
    fleet.put(replace(shared[0], form="desk"))
    assert fleet.topology.channels_of[PACKS[0]] == channels, "who says more keeps the place"
    assert fleet.take_out(NAMES[0])
    assert fleet.topology.channels_of[PACKS[0]] == channels[2:]
    fleet.put(shared[0])
    assert fleet.topology.channels_of[PACKS[0]] == channels[2:] + channels[:2]


def test_one_more_device_costs_as_much_after_two_hundred_as_after_ten(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted in instructions of our own code, which no busy machine changes."""
    fleet, names = Wiring(), [f"rack-{number:03}" for number in range(200)]
    fleet.set_production(produce(*names[:100]))
    monkeypatch.delattr(wiring, "build_topology")
    costs = [instructions(fleet.put, describe(name)) for name in names]
    again = [instructions(fleet.put, describe(name, channels=1)) for name in names]
    for planned in (slice(10, 100), slice(110, 200)):
        assert len(set(costs[planned])) == len(set(again[planned])) == 1
        assert costs[planned][0] > 1_000 < again[planned][0], "it was counted at all"


def instructions(work: Callable[[DeviceDescription], None], description: DeviceDescription) -> int:
    count = 0

    def trace(frame: FrameType, event: str, _: object) -> TraceFunction:
        nonlocal count
        frame.f_trace_opcodes = ours = frame.f_globals.get("__name__", "").startswith("fleet.")
        count += ours and event == "opcode"
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        work(description)
    finally:
        sys.settrace(before)
    return count
