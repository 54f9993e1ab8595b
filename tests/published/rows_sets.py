"""Products of many carriers: how many there are, and sets of carriers that they miss."""

from __future__ import annotations

from tests.published.row import Row

_HERE = "test_intermodulation.py::"
_SHORTEST = "test_shortest_sets.py::"

SETS = (
    Row(
        "N(N-1) and the other closed forms of eight families, N = 4 to 16",
        "12, 24, 168, 43680",
        "exact",
        "C",
        "enumeration; Jeske 1967 for all of the third order",
        (_HERE + "test_closed_forms",),
    ),
    Row(
        "all third-order products of 4, 8, 10, 16 carriers",
        "24, 224, 450, 1920",
        "exact",
        "C",
        "Jeske 1967; N^2 (N-1) / 2",
        (_HERE + "test_closed_forms",),
    ),
    Row(
        "channel sets quoted from Babcock: no third-order hit",
        "no figure but the eight sets",
        "exact",
        "C, attribution from memory",
        "Babcock 1953",
        (_HERE + "test_sets_without_third_order_hits",),
    ),
    Row(
        "rulers of optimal length: no third-order hit",
        "no figure but the seven sets",
        "exact",
        "C",
        "OEIS A003022",
        (_HERE + "test_sets_without_third_order_hits",),
    ),
    Row(
        "sets with all sums of three different: no hit at all",
        "three sets",
        "exact",
        "C",
        "exhaustive search",
        (_HERE + "test_sets_without_any_hit",),
    ),
    Row(
        "0, 2, 7, 8, 11 against 0, 1, 4, 9, 11 at the fifth order",
        "three sets: one hit of 3A-2B against none",
        "exact",
        "C",
        "enumeration",
        (_HERE + "test_a_third_order_free_set_may_have_fifth_order_hits",),
    ),
    Row(
        "equal spacing, N = 3 to 10: A+B-C hits",
        "1, 6, 16, 100, 220",
        "exact",
        "C",
        "enumeration",
        (_HERE + "test_equal_spacing_hits_every_carrier",),
    ),
    Row(
        "equal spacing, N = 8, per carrier",
        "9, 12, 14, 15; 3",
        "exact",
        "C",
        "enumeration",
        (_HERE + "test_eight_equally_spaced_suffer_most_in_the_middle",),
    ),
    Row(
        "600.0, 600.4 and 601.0 MHz",
        "5996, 6008; 5994, 6006, 6014",
        "exact",
        "C",
        "by hand, in steps of 100 kHz",
        (_HERE + "test_worked_frequencies",),
    ),
    Row(
        "lengths of optimal rulers of 2 to 10 marks, proved by trying all",
        "1, 3, 6, 11, 17, 25, 34, 44, 55",
        "exact",
        "S",
        "OEIS A003022",
        (_SHORTEST + "test_optimal_rulers",),
    ),
    Row(
        "channels 1 to k that hold 1 to 12 without a 2A-B hit, proved by trying all",
        "1, 2, 4, 5, 9, 11, 13, 14, 20, 24, 26, 30",
        "exact",
        "S",
        "OEIS A065825",
        (_SHORTEST + "test_sets_without_three_in_step",),
    ),
    Row(
        "lengths of 2 to 6 marks without a third- or fifth-order hit, proved by trying all",
        "1, 4, 11, 23, 45",
        "exact",
        "C",
        "exhaustive search",
        (_SHORTEST + "test_sets_whose_sums_of_three_differ",),
    ),
)
