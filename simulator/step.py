"""One step of a script: what is done, to what, and when."""

from __future__ import annotations

from typing import Annotated

import msgspec
from msgspec import Meta

from simulator.scenario_values import Scalar

STEPS_MAXIMUM = 64
Parameter = Scalar | list[Scalar]


class Step(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Something that is done ``after_s``, either an act of the exercise protocol or a write over the device protocol.

    ``act`` names the act and ``params`` are its parameters; ``write`` names an address and ``params`` are the settings.
    Texts that begin with $ stand for what the target says: see ``simulator.targets``. A key ``changes.name`` stands for
    the name among the changes.
    """

    act: str = ""
    write: str = ""
    params: dict[str, Parameter] = {}
    after_s: Annotated[float, Meta(ge=-3600, le=86_400)] = 0.0

    @property
    def is_whole(self) -> bool:
        """It is either an act or a write."""
        return bool(self.act) != bool(self.write)
