"""Small sites for the tests of forecasts: carriers in the house of the lamp, heard at one antenna or two."""

from __future__ import annotations

from fleet.planning.what_if.site import Antenna, Transmitter

HOUSE = Antenna("House left", "House", (0.0, 0.0), intercept_dbm=0.0, noise_dbm=-114.965)
QUAY = Antenna("Quay", "Quay", (100.0, 0.0), intercept_dbm=0.0, noise_dbm=-114.965)
# ITU-R P.525 at 600 MHz over 10 m.
LOSS_10_M_DB = 48.011


def bringing(level_dbm: float, frequency_hz: int, group: str = "House", *, zone: str = "House") -> Transmitter:
    """A pack 10 m from its zone's antenna that brings that level there at about 600 MHz."""
    return Transmitter(frequency_hz, group, zone, level_dbm + LOSS_10_M_DB, "eirp", distance_m=10.0)
