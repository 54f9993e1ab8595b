"""The last look before a step: whether its frequency is free by what the console knows now, not by what was planned."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fleet.model.retune import RetuneStep
from fleet.planning.retuning.air import Air
from fleet.planning.retuning.preview import Around, Asked, room_of, wishes_of
from fleet.planning.retuning.rig import FREQUENCY, Rig


def obstacle(asked: Asked, rig: Rig, around: Around, step: RetuneStep, asleep: Iterable[str]) -> str:
    """Who is on the frequency that a step goes to, in words, or nothing; ``asleep`` are links off the air for this run.

    Whoever has an open or unknown command counts as being on its frequency, too.
    """
    if step.to_hz is None:
        return ""
    rigged = rig.links(wishes_of(asked))
    room = room_of(asked.plan, rig, rigged, around)
    air = Air(room)
    for link_id in asleep:
        air.put(link_id, ())
    link = next((each.link for each in rigged if each.link.link_id == step.link_id), None)
    if link is None:
        return f"{step.link_id} is no longer there"
    for hz in dict.fromkeys([step.to_hz, *_written_hz(step)]):
        held_by = [*air.in_the_way(link, hz), *(held.words for held in air.strangers(link, hz))]
        if held_by:
            return f"nothing was sent: {hz} Hz is held by {held_by[0]} now"
    return ""


def _written_hz(step: RetuneStep) -> Iterator[int]:
    for write in step.writes:
        hz = write.changes.get(FREQUENCY)
        if isinstance(hz, int) and not isinstance(hz, bool):
            yield hz
