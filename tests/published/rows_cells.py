"""Cells under the load of a pack."""

from __future__ import annotations

from tests.published.row import Row

_CELLS = "test_cells.py::"
_NO_PEUKERT = "no use: it is defined for constant current, and a pack draws constant power"
_NOT_READ = "from memory; a scenario's cells are shapes of our own, labelled as assumptions"

CELLS = (
    Row("2.5 Wh at 0.25 W", "10.0 h", "exact", "C", "E / P", (_CELLS + "test_run_time",)),
    Row(
        "0.25 W from 1.5 and 0.9 V",
        "166.7, 277.8 mA",
        "0.1 mA",
        "C",
        "P / V",
        (_CELLS + "test_current_rises_as_a_cell_falls",),
    ),
    Row(
        "3.0 V, 0.3 ohm, 0.6 W: current, voltage",
        "0.20417 A, 2.9387 V",
        "1e-4",
        "C",
        "(E - sqrt(E^2 - 4RP)) / 2R",
        (_CELLS + "test_constant_power",),
    ),
    Row(
        "2.4 V, 0.3 ohm, 0.6 W: current",
        "0.25834 A",
        "1e-4",
        "C",
        "(E - sqrt(E^2 - 4RP)) / 2R",
        (_CELLS + "test_constant_power",),
    ),
    Row(
        "3.0 V, 0.3 ohm: greatest power; none beyond it",
        "7.5 W",
        "exact",
        "C",
        "E^2 / 4R",
        (_CELLS + "test_greatest_power",),
    ),
    Row(
        "Peukert, 100 Ah in 20 h, 10 A, k 1.0, 1.1, 1.2, 1.3",
        "10.000, 9.330, 8.706, 8.123 h",
        "0.001 h",
        "C",
        "Peukert",
        reason=_NO_PEUKERT,
    ),
    Row(
        "Peukert, 100 Ah in 20 h, 20 A, k 1.0, 1.1, 1.2, 1.3",
        "5.000, 4.353, 3.789, 3.299 h",
        "0.001 h",
        "C",
        "Peukert",
        reason=_NO_PEUKERT,
    ),
    Row("Peukert, 10 A, k 1.2: delivered", "87.06 Ah", "0.01 Ah", "C", "Peukert", reason=_NO_PEUKERT),
    Row(
        "nominal voltages and rated capacities",
        "1.2 to 3.7 V",
        "",
        "M",
        "IEC 60086, 61951-2, 61960-3",
        reason=_NOT_READ,
    ),
    Row("durations of application tests", "five loads", "", "M", "IEC 60086-2", reason=_NOT_READ),
    Row(
        "voltage only falls in a discharge",
        "no figure",
        "",
        "shape",
        "physics of cells",
        (_CELLS + "test_voltage_only_falls",),
    ),
    Row(
        "more load is less voltage and less time",
        "no figure",
        "",
        "shape",
        "physics of cells",
        (_CELLS + "test_more_load_is_less_voltage_and_less_time",),
    ),
    Row(
        "more resistance is less time",
        "no figure",
        "",
        "shape",
        "physics of cells",
        (_CELLS + "test_more_resistance_is_less_time",),
    ),
    Row(
        "what a pack reckons never rises at a constant load",
        "no figure",
        "",
        "shape",
        "physics of cells",
        (_CELLS + "test_what_a_pack_reckons_never_rises",),
    ),
    Row(
        "1.2 V a cell: low for alkaline, the middle for nickel",
        "no figure",
        "",
        "shape",
        "physics of cells",
        (_CELLS + "test_the_same_voltage_means_less_in_an_alkaline_cell",),
    ),
)
