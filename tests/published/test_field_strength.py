"""Field strength against ITU-R P.525, and the ceiling of P.1546 in free space (both as reported); arithmetic."""

from __future__ import annotations

import math

import pytest

from fleet.physics.field_strength import dbm_from_dbuv, field_dbuv_m, received_dbm

ONE_KILOWATT_DBM = 60.0


@pytest.mark.parametrize(
    ("frequency_mhz", "power_dbm"), [(500, -131.20), (600, -132.78), (650, -133.48), (694, -134.05)]
)
def test_power_from_a_field(frequency_mhz: int, power_dbm: float) -> None:
    """0 dBuV/m on an isotropic antenna: E - 20 log f - 77.22."""
    found = received_dbm(0.0, frequency_mhz * 1e6)
    assert found == pytest.approx(power_dbm, abs=0.03)
    assert found == pytest.approx(-20.0 * math.log10(frequency_mhz) - 77.22, abs=0.01)


def test_loss_from_a_field() -> None:
    """139.3 - E + 20 log f for 1 kW e.r.p. (P.1546, annex 5, as reported): the dipole is in it and not added again."""
    for frequency_mhz in (500, 694):
        loss_db = ONE_KILOWATT_DBM + 2.15 - received_dbm(80.0, frequency_mhz * 1e6)
        assert loss_db == pytest.approx(139.3 - 80.0 + 20.0 * math.log10(frequency_mhz), abs=0.1)


def test_field_over_a_kilometre() -> None:
    """1 kW e.i.r.p. makes 104.77 dBuV/m, which is 173.2 mV/m; 1 kW e.r.p. 106.92 (P.1546: 106.9)."""
    found = field_dbuv_m(ONE_KILOWATT_DBM, 1_000.0)
    assert found == pytest.approx(104.77, abs=0.05)
    assert 10.0 ** (found / 20.0) / 1_000.0 == pytest.approx(173.2, abs=0.1)
    assert field_dbuv_m(ONE_KILOWATT_DBM + 2.15, 1_000.0) == pytest.approx(106.92, abs=0.05)


def test_power_density() -> None:
    """S in dB of a watt a square metre is E - 145.76: by the field of one watt over 4 pi r^2 = 1 square metre."""
    one_square_metre = math.sqrt(1.0 / (4.0 * math.pi))
    assert field_dbuv_m(30.0, one_square_metre) == pytest.approx(145.76, abs=0.01)


@pytest.mark.parametrize(("microvolts_db", "power_dbm"), [(0.0, -106.990), (20.0, -86.990), (40.0, -66.990)])
def test_voltage_in_fifty_ohms(microvolts_db: float, power_dbm: float) -> None:
    """1, 10 and 100 microvolts."""
    assert dbm_from_dbuv(microvolts_db) == pytest.approx(power_dbm, abs=0.002)


def test_edges_are_refused() -> None:
    with pytest.raises(ValueError, match="a frequency must be above zero"):
        received_dbm(40.0, [500e6, 0.0])
    with pytest.raises(ValueError, match="a distance must be above zero"):
        field_dbuv_m(60.0, 0.0)
