"""Acts at a device: taken or refused, waiting, under way, ended, given up."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

from fleet.model.capability import ActCapability, problem_with
from fleet.protocol.codes import ErrorCode
from fleet.protocol.messages import Act, Outcome, Progress
from simulator.audience import Audience, Listener
from simulator.performances import Performance
from simulator.writes import CommandMemory, Refused, Reply, Taken

ACTS_MAXIMUM = 16
OUTCOMES_KEPT = 64
BUSY_RETRY_S = 1.0
Perform = Callable[[Act], "Performance | Refused"]


@dataclass(slots=True)
class _UnderWay:
    order: Act
    performance: Performance
    began_us: int | None = None
    told: float = -1.0


class Acting:
    """The acts of one boot. ``perform`` makes what an order asks for, or says why not."""

    def __init__(self, offers: tuple[ActCapability, ...], perform: Perform, audience: Audience) -> None:
        self._offers = offers
        self._perform = perform
        self._audience = audience
        self._memory = CommandMemory()
        self._under_way: dict[str, _UnderWay] = {}
        self._ended: OrderedDict[str, Outcome] = OrderedDict()

    def redescribe(self, offers: tuple[ActCapability, ...]) -> None:
        """Take the offers of another description."""
        self._offers = offers

    def act(self, order: Act, now_us: int, asker: Listener, why_not: Refused | None = None) -> Reply:
        """Take an act or refuse it. A repeated command id changes nothing; a known outcome is told once more.

        ``why_not`` is why this client may not act now; it may again later, so that answer is not kept.
        """
        remembered = self._memory.recall(order.command_id, now_us)
        if remembered is not None:
            if order.command_id in self._ended:
                asker.hear(self._ended[order.command_id])
            return remembered
        if why_not is not None:
            return why_not
        answer = self._problem_with(order) or self._take(order, asker)
        if not (isinstance(answer, Refused) and answer.code is ErrorCode.BUSY):
            self._memory.remember(order.command_id, answer, now_us)
        return answer

    def _problem_with(self, order: Act) -> Refused | None:
        offer = next((one for one in self._offers if one.act == order.act and order.target in one.targets), None)
        if offer is None:
            return Refused(ErrorCode.UNSUPPORTED, f"nothing here can {order.act} at {order.target}")
        known = {argument.name: argument for argument in offer.arguments}
        for name in order.arguments:
            if name not in known:
                return Refused(ErrorCode.OUT_OF_RANGE, f"{order.act} takes no {name}", {"field": name})
        for name, argument in known.items():
            if name not in order.arguments:
                problem = "is missing" if argument.required else None
            else:
                problem = problem_with(argument.schema, order.arguments[name])
            if problem is not None:
                data = {"field": name, "reason": problem}
                return Refused(ErrorCode.OUT_OF_RANGE, f"{order.act}: {name} {problem}", data)
        return None

    def _take(self, order: Act, asker: Listener) -> Reply:
        same = any(
            (each.order.target, each.order.act) == (order.target, order.act) for each in self._under_way.values()
        )
        if same or len(self._under_way) >= ACTS_MAXIMUM:
            words = f"{order.act} is under way at {order.target}" if same else "too many acts are under way"
            return Refused(ErrorCode.BUSY, words, {"retry_after_s": BUSY_RETRY_S})
        performance = self._perform(order)
        if isinstance(performance, Refused):
            return performance
        self._audience.asked(order.command_id, asker)
        self._under_way[order.command_id] = _UnderWay(order, performance)
        if performance.waiting_words:
            self._audience.progressed(Progress(order.command_id, words=performance.waiting_words))
        return Taken(performance.state)

    def advance(self, now_us: int) -> None:
        """Let time pass for all acts under way."""
        for command_id, each in tuple(self._under_way.items()) if self._under_way else ():
            self._advance(command_id, each, now_us)

    def _advance(self, command_id: str, each: _UnderWay, now_us: int) -> None:
        performance = each.performance
        if each.began_us is None:
            if not performance.may_begin():
                return
            each.began_us = now_us
            performance.begin()
        fraction = min(1.0, (now_us - each.began_us) / performance.lasts_us)
        levels = performance.levels(fraction)
        if performance.shows_progress and (levels is not None or fraction > each.told):
            each.told = fraction
            self._audience.progressed(Progress(command_id, round(fraction, 3), performance.words, levels))
        if fraction >= 1.0:
            ended = performance.finish()
            self._end(ended if isinstance(ended, Outcome) else Outcome(command_id, "done", result=dict(ended)))

    def _end(self, outcome: Outcome) -> None:
        each = self._under_way.pop(outcome.command_id)
        each.performance.clear()
        self._ended[outcome.command_id] = outcome
        if len(self._ended) > OUTCOMES_KEPT:
            self._ended.popitem(last=False)
        self._audience.ended(outcome)

    def cancel(self, command_id: str) -> bool:
        """Give up an act; whether there was one that can be given up."""
        each = self._under_way.get(command_id)
        if each is None or not each.performance.cancellable:
            return False
        self._end(Outcome(command_id, "cancelled"))
        return True

    def hand(self, address: str) -> int:
        """A hand does what the acts at an address wait for; how many there were."""
        waiting = [
            each.performance
            for each in self._under_way.values()
            if each.order.target == address and each.performance.state == "waiting for a hand" and each.began_us is None
        ]
        for performance in waiting:
            performance.handed = True
        return len(waiting)

    def forget(self) -> None:
        """Lose everything under way, as a device does when it restarts; what it had switched is switched back."""
        for each in self._under_way.values():
            each.performance.clear()
        self._under_way.clear()
