"""What lies between the antennas and the receivers: feeds and their power, boosters, distributions."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from simulator.scenario import Scenario
from simulator.venue import DEAF_DB

Fault = Literal["", "open", "shorted", "unpowered"]
# Assumptions: what leaks past a booster and past a distribution that have no power, and where a short is limited.
BOOSTER_LEAKS_DB = -30.0
DISTRIBUTION_LEAKS_DB = -25.0
SHORT_MA = 250.0


@dataclass(slots=True)
class Feed:
    """One antenna's feed.

    ``powered`` says that whatever powers it is set to. ``distribution`` is the id of the one it goes through, where it
    goes through one, and ``gain_db`` what that is set to.
    """

    draws_ma: float
    distribution: str = ""
    powered: bool = True
    fault: Fault = ""
    distribution_works: bool = True
    gain_db: float = 0.0

    @property
    def change_db(self) -> float:
        """What reaches the receivers against the usual."""
        if self.fault in {"open", "shorted"}:
            return DEAF_DB
        if not self.distribution_works:
            return DISTRIBUTION_LEAKS_DB
        return self.gain_db + (0.0 if self.draws_ma == 0.0 or self._has_power else BOOSTER_LEAKS_DB)

    @property
    def current_ma(self) -> float:
        """What its power supply measures."""
        if not self._has_power or self.fault == "open":
            return 0.0
        return SHORT_MA if self.fault == "shorted" else self.draws_ma

    @property
    def is_faulty(self) -> bool:
        """Whether its supply finds it shorted, or open where a booster should draw something."""
        if not self._has_power:
            return False
        return self.fault == "shorted" or (self.fault == "open" and self.draws_ma > 0.0)

    @property
    def _has_power(self) -> bool:
        return self.powered and self.distribution_works and self.fault != "unpowered"


class Feeds:
    """The feeds of all antennas, by the antenna's name."""

    def __init__(self, scenario: Scenario) -> None:
        self.by_antenna = {antenna.name: Feed(antenna.draws_ma) for antenna in scenario.antenna}
        for distribution in scenario.distribution:
            for name in distribution.inputs.values():
                self.by_antenna[name].distribution = distribution.id

    def changes_db(self) -> NDArray[np.float64]:
        """What reaches the receivers against the usual, [antennas + 1]: of each antenna, and of a deaf one last."""
        return np.array([*(feed.change_db for feed in self.by_antenna.values()), DEAF_DB])

    def set_distribution(self, distribution_id: str, *, works: bool) -> None:
        """A distribution loses its power or has it again."""
        for feed in self.by_antenna.values():
            if feed.distribution == distribution_id:
                feed.distribution_works = works
