"""What putting a plan on the air would do: the steps with their writes, who falls silent, what it can't do and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from fleet.model.fields import Value
from fleet.model.plan import Plan
from fleet.model.retune import RetuneLeftOut, RetuneOrphan, RetunePreview, RetuneStep, RetuneWrite, StepKind
from fleet.planning.coordination.plan_document import request_of
from fleet.planning.coordination.request import ISOLATION_WITH_GUARDS_DB, Request, points_of
from fleet.planning.coordination.rooms import are_isolated
from fleet.planning.retuning.links import Held, Order, Room, Step
from fleet.planning.retuning.order import safe_order
from fleet.planning.retuning.rig import FREQUENCY, Rig, Rigged, Wish

PARKING_MAXIMUM = 4_000
"""Free points of the raster that are tried for stepping aside, evenly over the windows, beside the plan's spares."""
WAKES = "A pack may be anywhere a person is: say so before it sleeps, and before it wakes."
HEARS_ANOTHER = "While its pack sleeps this channel may hear another one: keep it muted at the desk."
HANDS = "Somebody must set the pack: it has no return link."
UNSEEN = "No pack is known here: whoever is heard on it must be set by hand."
_ZONE = "zone of the fleet: "


@dataclass(frozen=True, slots=True)
class Asked:
    """A plan under its name and revision, and what may be done for it.

    ``may_sleep`` lets packs sleep where no frequency is free. ``channels`` narrows it to some channels of the plan;
    None is all of them.
    """

    name: str
    plan: Plan
    revision: int
    may_sleep: bool = False
    channels: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Around:
    """What lies around the plan: the zone of each channel, who is heard where, and whether the show is live."""

    zones: Mapping[str, str]
    identities: Mapping[str, str]
    show_live: bool


def preview(asked: Asked, rig: Rig, around: Around) -> RetunePreview:
    """What would be done, in its order; nothing is sent. Raises InvalidDocument for a plan that can't be read."""
    wishes = tuple(wishes_of(asked))
    rigged = rig.links(wishes)
    order = safe_order(room_of(asked.plan, rig, rigged, around), may_sleep=asked.may_sleep)
    by_id = {each.link.link_id: each for each in rigged}
    steps = tuple(_steps(order, rig, by_id))
    moved = {step.link_id for step in steps} | {each.link_id for each in order.blocked}
    return RetunePreview(
        plan=asked.name,
        plan_revision=asked.revision,
        steps=steps,
        left_out=(*_left_out(order, by_id), *_unknown(wishes, rig)),
        orphans=tuple(_orphans(steps, by_id, rig, around.identities)),
        aside=order.aside,
        fewest=order.fewest,
        already=sum(1 for each in by_id if each not in moved),
        without_channel=sum(1 for carrier in asked.plan.carriers if carrier.channel is None),
        seconds_at_most=sum(step.silent_at_most_s for step in steps),
        show_live=around.show_live,
    )


# ------------------------------------------------------------ the plan


def wishes_of(asked: Asked) -> Iterator[Wish]:
    """What a plan wishes of the channels that it names. Raises InvalidDocument."""
    request = request_of(asked.plan, f"plan/{asked.name}")
    spacings = {group.name: request.profile_of(group).spacing_hz for group in request.group}
    for carrier in asked.plan.carriers:
        if carrier.channel is not None and (asked.channels is None or carrier.channel in asked.channels):
            yield Wish(carrier.channel, carrier.frequency_hz, spacings[carrier.group], carrier.group)


def room_of(plan: Plan, rig: Rig, rigged: tuple[Rigged, ...], around: Around) -> Room:
    """Everybody who is on the air around a plan, as they stand now. Raises InvalidDocument."""
    request = request_of(plan, "plan")
    ends = {each.link.link_id: (*each.packs, *each.carriers) for each in rigged}

    def place_of(channel: str) -> str:
        return f"{_ZONE}{around.zones.get(channel, '')}"

    return Room(
        links=tuple(each.link for each in rigged),
        held=(*rig.held(rigged, place_of), *_protected(request)),
        apart=frozenset(_apart(request)),
        parking_hz=tuple(dict.fromkeys(_parking(plan, request))),
        tunes=lambda link_id, hz: rig.tunes(ends[link_id], hz),
    )


def _protected(request: Request) -> Iterator[Held]:
    for each in request.protected:
        place = f"{_ZONE}{each.zone}" if each.zone else ""
        yield Held(each.frequency_hz, each.spacing_hz, place, each.words or "a carrier that the plan protects")


def _apart(request: Request) -> Iterator[tuple[str, str]]:
    """Groups, and zones of what the plan doesn't move, that need not keep off one another: by isolation alone.

    Scenes don't count: while frequencies change, everybody may be on the air.
    """
    needed_db = {group.name: request.profile_of(group).isolation_needed_db for group in request.group}
    for one, other in combinations(request.group, 2):
        if are_isolated(request, one.zone, other.zone, max(needed_db[one.name], needed_db[other.name])):
            yield one.name, other.name
    for zone in dict.fromkeys(group.zone for group in request.group):
        for group in request.group:
            if are_isolated(request, zone, group.zone, max(needed_db[group.name], ISOLATION_WITH_GUARDS_DB)):
                yield f"{_ZONE}{zone}", group.name


def _parking(plan: Plan, request: Request) -> Iterator[int]:
    """The plan's spares by their rank, then free points of its windows."""
    yield from (spare.frequency_hz for spare in sorted(plan.spares, key=lambda spare: spare.rank))
    points = sorted({point for window in request.window for point in points_of(request, window)})
    points = points[:: -(-len(points) // PARKING_MAXIMUM) or 1]
    for point in points:
        hz = point * request.raster_hz
        if not any(window.start_hz <= hz <= window.stop_hz for window in request.exclusion):
            yield hz


# ------------------------------------------------------------ the steps


def _steps(order: Order, rig: Rig, by_id: Mapping[str, Rigged]) -> Iterator[RetuneStep]:
    for number, step in enumerate(order.steps, start=1):
        rigged = by_id[step.link_id]
        writes = tuple(_writes(step, rig, rigged))
        yield RetuneStep(
            number=number,
            kind=step.kind,
            link_id=step.link_id,
            channels=rigged.channels,
            from_hz=tuple(sorted({end.frequency_hz for end in step.ends})),
            to_hz=step.to_hz,
            writes=writes,
            silent_at_most_s=silent_at_most_s(writes, rig),
            by_hand=rigged.link.by_hand,
            cautions=tuple(_cautions(step, rigged)),
        )


def _writes(step: Step, rig: Rig, rigged: Rigged) -> Iterator[RetuneWrite]:
    """The packs first, then the receivers; each end once. A pack that sleeps wakes when its receiver is there."""
    if step.to_hz is None:
        for pack in rigged.packs:
            field = rig.way_off_the_air(pack)
            off: bool = field == "standby"
            yield RetuneWrite(pack, {field: off}, {field: not off})
        return
    ends = {end.address: end.frequency_hz for end in step.ends}
    waking = step.kind is StepKind.WAKE
    for address, from_hz in sorted(ends.items(), key=lambda end: waking and end[0] in rigged.packs):
        changes: dict[str, Value] = {FREQUENCY: step.to_hz}
        before: dict[str, Value] = {FREQUENCY: from_hz}
        if waking and address in rigged.packs:
            yield from _woken(address, changes, before, rig)
        else:
            yield RetuneWrite(address, changes, before)


def _woken(pack: str, changes: Mapping[str, Value], before: Mapping[str, Value], rig: Rig) -> Iterator[RetuneWrite]:
    """Onto the air again: on the new frequency first where it can be set off the air, else both in one write."""
    field = rig.way_off_the_air(pack)
    on, off = field == "rf_on", field != "rf_on"
    found = rig.capability(pack, FREQUENCY)
    if field == "standby" and (found is None or found.needs_awake):
        yield RetuneWrite(pack, {**changes, field: on}, {**before, field: off})
        return
    yield RetuneWrite(pack, changes, before)
    yield RetuneWrite(pack, {field: on}, {field: off})


def silent_at_most_s(writes: Iterable[RetuneWrite], rig: Rig) -> float:
    """How long channels may be silent while these are done: as long as the devices may take; 0 without muting."""
    found = [rig.capability(write.address, field) for write in writes for field in write.changes]
    known = [each for each in found if each is not None]
    if not any(each.mutes for each in known):
        return 0.0
    return sum((each.accept_within_ms + each.confirm_within_ms) / 1_000 for each in known)


def _cautions(step: Step, rigged: Rigged) -> Iterator[str]:
    if step.kind in {StepKind.SLEEP, StepKind.WAKE}:
        yield WAKES
    if step.kind is StepKind.SLEEP:
        yield HEARS_ANOTHER
    if not rigged.packs:
        yield UNSEEN
    elif rigged.link.by_hand:
        yield HANDS


# ------------------------------------------------------------ what it can't do, and who is left alone


def _left_out(order: Order, by_id: Mapping[str, Rigged]) -> Iterator[RetuneLeftOut]:
    for each in order.blocked:
        rigged = by_id[each.link_id]
        reason = _shared_words(rigged, each.by, by_id) or each.reason
        yield RetuneLeftOut(each.link_id, rigged.channels, rigged.link.target_hz, reason, each.by)


def _shared_words(rigged: Rigged, by: Iterable[str], by_id: Mapping[str, Rigged]) -> str:
    """Whether what is in the way has the same place by the plan, as scenes that never meet may have."""
    for other in by:
        link = by_id[other].link
        if abs(link.target_hz - rigged.link.target_hz) < max(1, link.spacing_hz, rigged.link.spacing_hz):
            return f"the plan has {other} on that frequency, too; while packs move, both may be on the air"
    return ""


def _unknown(wishes: Iterable[Wish], rig: Rig) -> Iterator[RetuneLeftOut]:
    for wish in wishes:
        if wish.channel not in rig.carrier_of:
            reason = f"no device that the console knows has {wish.channel}"
            yield RetuneLeftOut(wish.channel, (wish.channel,), wish.frequency_hz, reason)


def _orphans(
    steps: Iterable[RetuneStep], by_id: Mapping[str, Rigged], rig: Rig, identities: Mapping[str, str]
) -> Iterator[RetuneOrphan]:
    """Other channels that hear a pack which moves, or are linked to it, and whose carrier doesn't move with it."""
    hears = {**rig.pack_of, **identities}
    for link_id in dict.fromkeys(step.link_id for step in steps):
        rigged = by_id[link_id]
        for channel, pack in hears.items():
            if pack in rigged.packs and rig.carrier_of.get(channel) not in rigged.carriers:
                yield RetuneOrphan(channel, pack, link_id)
