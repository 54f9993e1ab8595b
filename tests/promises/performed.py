"""The truth about acts: which the devices began, and which they finished, by command."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from fleet.model.fields import Value
from fleet.protocol.messages import Act, Outcome
from simulator.device import SimulatedDevice
from simulator.performances import Performance
from simulator.virtual_fleet import VirtualFleet
from simulator.writes import Refused


class Performed:
    """Counts what every device of a fleet does when it is asked to act."""

    def __init__(self, fleet: VirtualFleet) -> None:
        self.began: Counter[str] = Counter()
        self.finished: Counter[str] = Counter()
        for device in fleet.devices.values():
            self._watch(device)

    def _watch(self, device: SimulatedDevice) -> None:
        perform = device._repertoire.perform

        def counted(order: Act) -> Performance | Refused:
            performance = perform(order)
            if isinstance(performance, Performance):
                self.began[order.command_id] += 1
                self._count_the_end(order.command_id, performance)
            return performance

        device._repertoire.perform = counted  # type: ignore[method-assign]  # Counts for every boot to come,
        device._acting._perform = counted  # and for this one.

    def _count_the_end(self, command_id: str, performance: Performance) -> None:
        finish = performance.finish

        def counted() -> Mapping[str, Value] | Outcome:
            self.finished[command_id] += 1
            return finish()

        performance.finish = counted
