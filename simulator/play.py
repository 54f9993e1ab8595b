"""Steps performed at their times: by the exercise protocol's own acts, or as writes over the device protocol."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import msgspec

from fleet.errors import InvalidRequest, RedpollError
from fleet.model.fields import Value
from fleet.protocol.messages import NotificationBody, Write
from simulator.fault_shapes import Act
from simulator.faults import ACTS
from simulator.named import must_be_there
from simulator.situation import On, Situation
from simulator.step import Parameter, Step
from simulator.targets import Names, filled, names_of
from simulator.virtual_fleet import VirtualFleet
from simulator.writes import Refused

_US = 1_000_000


@dataclass(slots=True)
class _Asker:
    """Who writes on behalf of a play; it needs no news."""

    label: str = "exercise"

    def hear(self, news: NotificationBody) -> None:
        """The play goes on whatever becomes of its writes."""
        del news

    def hang_up(self) -> None:
        """A restart of a device changes nothing for it."""


@dataclass(slots=True)
class Play:
    """Steps waiting for their time in one fleet. ``problems`` are what could not be done, in words.

    ``acts`` are those that its steps may name, with the shapes of their parameters.
    """

    fleet: VirtualFleet
    names: Names
    acts: Mapping[str, tuple[type[msgspec.Struct], Act]] = field(default_factory=lambda: ACTS)
    problems: list[str] = field(default_factory=list)
    _waiting: deque[tuple[int, Step]] = field(default_factory=deque)
    _written: int = 0

    def schedule(self, steps: Iterable[Step], from_us: int) -> None:
        """Perform these steps after their seconds from that moment of the world."""
        due = [(max(0, from_us + round(step.after_s * _US)), step) for step in steps]
        self._waiting = deque(sorted([*self._waiting, *due], key=lambda each: each[0]))

    def advance(self, now_us: int) -> None:
        """Perform what is due."""
        while self._waiting and self._waiting[0][0] <= now_us:
            _, step = self._waiting.popleft()
            try:
                self._perform(step, now_us)
            except RedpollError as error:
                self._note(f"{step.act or step.write}: {error}")

    def forget(self) -> None:
        """Perform nothing of what still waits."""
        self._waiting.clear()

    def check(self, steps: Iterable[Step]) -> None:
        """Raise what would be wrong with these steps whenever they are performed: shapes, names, what isn't there."""
        for step in steps:
            if step.act:
                must_be_there(self.fleet, self.asked(step))
            else:
                self.fleet.device_of(self._target(step)[0])

    def _perform(self, step: Step, now_us: int) -> None:
        if step.act:
            self.acts[step.act][1](self.fleet, self.asked(step), now_us)
        else:
            self._write(step, now_us)

    def asked(self, step: Step) -> msgspec.Struct:
        """The parameters of an act, in its shape.

        Raises InvalidRequest for an unknown act and for parameters that don't fit it.
        """
        shape, _ = self.acts.get(step.act, (None, None))
        if shape is None:
            raise InvalidRequest(f"no act {step.act!r}; one of {', '.join(self.acts)}")
        params = {name: filled(value, self.names) for name, value in step.params.items()}
        try:
            return msgspec.convert(_whole(params), shape)
        except msgspec.ValidationError as error:
            raise InvalidRequest(str(error)) from error

    def _target(self, step: Step) -> tuple[str, dict[str, Value]]:
        address = filled(step.write, self.names)
        changes: dict[str, Value] = {}
        for name, parameter in step.params.items():
            value = filled(parameter, self.names)
            if isinstance(value, list):
                raise InvalidRequest(f"{step.write}: {name} takes one plain value")
            changes[name] = value
        return str(address), changes

    def _write(self, step: Step, now_us: int) -> None:
        address, changes = self._target(step)
        device = self.fleet.device_of(address)
        self._written += 1
        command_id = self.fleet.world.luck.word(f"write {self._written} to {address} at {now_us}")
        asked = Write(address, command_id, device.revision(address), changes)
        answer = device.write(asked, now_us, _Asker())
        if isinstance(answer, Refused):
            self._note(f"{address}: {answer.words}")

    def _note(self, problem: str) -> None:
        self.problems.append(problem)
        self.fleet.problems.append(problem)


def _whole(params: Mapping[str, Parameter]) -> dict[str, object]:
    """Parameters as the acts want them: ``changes.name`` becomes the name among the changes."""
    whole: dict[str, object] = {}
    for name, value in params.items():
        outer, dot, inner = name.partition(".")
        if not dot:
            whole[name] = value
            continue
        nested = whole.setdefault(outer, {})
        if isinstance(nested, dict):
            nested[inner] = value
    return whole


def play_of(fleet: VirtualFleet, situation: Situation, on: On | None = None, play_id: str = "situation") -> Play:
    """A play of a situation on its own target, or on another one; all of its steps are checked before any is performed.

    ``$id`` stands for ``play_id`` in them, so that what they bring has a name of its own. Raises NotFound or
    InvalidRequest.
    """
    play = Play(fleet, {"id": play_id, **names_of(fleet, on or situation.on)})
    play.check([*situation.script, *situation.take_back])
    return play
