"""Files of frequencies and levels: every common form is understood alike, and every fault is named with its line."""

from __future__ import annotations

import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.errors import InvalidDocument
from fleet.planning.spectrum import levels_file
from fleet.planning.spectrum.levels_file import FileLevels, read_levels

FREQUENCIES = [470_000_000, 470_025_000, 470_050_000]
LEVELS = [-101.5, -60.0, -99.25]


def read(text: str | bytes) -> FileLevels:
    found = read_levels(io.BytesIO(text if isinstance(text, bytes) else text.encode()), "evening.csv")
    assert found is not None
    return found


def fault(text: str | bytes) -> InvalidDocument:
    with pytest.raises(InvalidDocument) as caught:
        read(text)
    assert caught.value.file == "evening.csv"
    return caught.value


# 0 dBm in 50 ohm is 106.98970 dB over a microvolt: 10 log10(0.001 W * 50 ohm) + 120, by hand.
FORMS: dict[str, str | bytes] = {
    "hertz, no header": "470000000,-101.5\n470025000,-60\n470050000,-99.25\n",
    "kilohertz, no header": "470000,-101.5\n470025,-60\n470050,-99.25\n",
    "megahertz, no header": "470.000,-101.5\n470.025,-60\n470.050,-99.25\n",
    "gigahertz, no header": "0.470000,-101.5\n0.470025,-60\n0.470050,-99.25\n",
    "level first": "-101.5,470.000\n-60,470.025\n-99.25,470.050\n",
    "no line end": "470.000,-101.5\n470.025,-60\n470.050,-99.25",
    "windows": "470.000,-101.5\r\n470.025,-60\r\n470.050,-99.25\r\n",
    "byte order mark": "\ufeffMHz,dBm\n470.000,-101.5\n470.025,-60\n470.050,-99.25\n",
    "semicolon, decimal comma": "Frequency (MHz);Level (dBm)\n470,000;-101,5\n470,025;-60,0\n470,050;-99,25\n",
    "semicolon, decimal comma, no header": "470,000;-101,5\n470,025;-60,0\n470,050;-99,25\n",
    "tab": "freq_khz\tpower dBm\n470000\t-101.5\n470025\t-60\n470050\t-99.25\n",
    "tab, decimal comma": "470,000\t-101,5\n470,025\t-60,0\n470,050\t-99,25\n",
    "blanks": "470.000  -101.5\n470.025  -60\n470.050   -99.25\n",
    "units on a line of their own": "Frequency;Level\nMHz;dBm\n470.000;-101.5\n470.025;-60\n470.050;-99.25\n",
    "unit of frequency by size": "Frequency,Amplitude [dBm]\n470000,-101.5\n470025,-60\n470050,-99.25\n",
    "microvolts": "Hz,dBuV\n470000000,5.48970004\n470025000,46.98970004\n470050000,7.73970004\n",
    "comments": "# a survey\n! by hand\n470.000,-101.5\n\n# lights on\n470.025,-60\n470.050,-99.25\n\n",
    "what an instrument writes above": (
        "Model,Wand\nCenter Frequency,582 MHz,Ref Level,-20 dBm\nSpan,470,694\n"
        "Frequency (MHz),Trace 1 (dBm)\n470.000,-101.5\n470.025,-60\n470.050,-99.25\n"
    ),
    "quotation marks": '"Frequency (MHz)","Level (dBm)"\n"470.000","-101.5"\n"470.025","-60"\n"470.050","-99.25"\n',
    "times beside": "time,MHz,dBm\n19:30:00,470.000,-101.5\n19:30:01,470.025,-60\n19:30:02,470.050,-99.25\n",
    "several traces": "MHz,Average (dBm),Max Hold (dBm)\n470.000,-110,-101.5\n470.025,-90,-60\n470.050,-99.5,-99.25\n",
    "exponents": "4.70000e8,-1.015e2\n4.70025e8,-6e1\n4.70050e8,-9.925e1\n",
    "the header again": "MHz,dBm\n470.000,-101.5\n470.025,-60\nMHz,dBm\n470.050,-99.25\n",
    "two bytes a letter": b"\xff\xfe" + "MHz,dBm\n470.000,-101.5\n470.025,-60\n470.050,-99.25\n".encode("utf-16-le"),
    "micro sign of Latin-1": b"Hz;dB\xb5V\n470000000;5.48970004\n470025000;46.98970004\n470050000;7.73970004\n",
    "a bandwidth beside": "RBW (kHz),Frequency (kHz),dBm\n25,470000,-101.5\n25,470025,-60\n25,470050,-99.25\n",
}


@pytest.mark.parametrize("text", FORMS.values(), ids=FORMS.keys())
def test_every_common_form_says_the_same(text: str | bytes) -> None:
    found = read(text)
    assert found.frequency_hz.tolist() == FREQUENCIES
    assert found.level_dbm == pytest.approx(LEVELS, abs=1e-6)
    assert found.sweep.tolist() == [0, 0, 0]


def test_what_was_understood_is_said_and_why() -> None:
    assert "MHz, by their size: 470.000" in "; ".join(read(FORMS["megahertz, no header"]).told)
    assert "kHz, as the header says" in "; ".join(read(FORMS["tab"]).told)
    assert "levels in dB\u00b5V, taken at 50 ohm" in "; ".join(read(FORMS["microvolts"]).told)
    assert "column 2, level in column 1" in "; ".join(read(FORMS["level first"]).told)


FAULTS: dict[str, tuple[str | bytes, int, str]] = {
    "mixed units": ("470.000,-101\n470.025,-60\n470050000,-99\n", 3, "in MHz, like the other lines"),
    "mixed units the other way": ("Hz,dBm\n470000000,-101\n470.025,-60\n", 3, "in Hz, like the other lines"),
    "header and size disagree": ("Frequency (kHz),dBm\n470000000,-101\n", 2, "in kHz"),
    "no number": ("MHz,dBm\n470.000,-101\n470.025,loud\n", 3, "a level from -200 to 60 dBm"),
    "not a number": ("MHz,dBm\n470.000,nan\n", 2, "a level"),
    "infinite": ("MHz,dBm\n470.000,-101\n470.025,-inf\n", 3, "a level"),
    "too large to be a number": ("MHz,dBm\n470.000,-101\n1e999,-99\n", 3, "a frequency"),
    "absurd": ("MHz,dBm\n470.000,-101\n470.025,-6000\n", 3, "a level from -200 to 60 dBm"),
    "absurd in microvolts": ("MHz,dBuV\n470.000,5\n470.025,300\n", 3, "once it is taken from"),
    "a cell is missing": ("MHz,dBm,note\n470.000,-101,x\n470.025,-99\n", 3, "3 cells"),
    "a cell too many": ("MHz,dBm\n470.000,-101\n470.025,-99,7\n", 3, "2 cells"),
    "digits in groups": ("MHz,dBm\n470.000,-101\n47_0.025,-99\n", 3, "a frequency"),
    "nothing": ("", 1, "a line with"),
    "comments alone": ("# nothing\n", 1, "a header"),
    "words": ("seven gulls\n", 1, "a header"),
    "no levels": ("MHz,dBm\n", 1, "a header"),
    "one number": ("470.000\n", 1, "a header"),
    "a unit that nobody knows": ("Frequency (MHz),Level (dBmV)\n470.000,-30\n", 1, "levels in dBm"),
    "field strength": ("MHz,dBuV/m\n470.000,30\n", 1, "levels in dBm"),
    "density": ("MHz,dBm/Hz\n470.000,-150\n", 1, "levels in dBm"),
    "either unit": ("MHz,Level\n470.000,12\n", 2, "says dBm or"),
    "two levels": ("MHz,left dBm,right dBm\n470.000,-90,-91\n", 1, "one column for the level"),
    "two frequencies": ("start MHz,stop MHz,dBm\n470.000,471,-91\n", 1, "one column for the frequency"),
    "which is which": ("470.000,471.0\n", 1, "a frequency and a negative level"),
    "beyond what surveys cover": ("Frequency,dBm\n12,-91\n", 2, "from 25 MHz to 8 GHz"),
    "a line without end": ("MHz,dBm\n" + "4" * 1_100_000, 2, "characters"),
    "no text": (bytes(range(256)) * 4, 1, ""),
}


@pytest.mark.parametrize(("text", "line", "expected"), FAULTS.values(), ids=FAULTS.keys())
def test_every_fault_is_named_with_its_line(text: str | bytes, line: int, expected: str) -> None:
    found = fault(text)
    assert found.key == f"line {line}"
    assert expected in found.expected


def test_a_fault_far_down_has_its_line_too() -> None:
    lines = [f"{470_000 + 25 * (index % 8_961)},-100.0" for index in range(100_000)]
    lines[75_000] = "473000,-100.0,8"
    assert fault("kHz,dBm\n" + "\n".join(lines)).key == "line 75002"


def test_one_line_below_its_header_needs_no_end() -> None:
    assert read("MHz,dBm\n470.000,-90").level_dbm.tolist() == [-90.0]


def test_repeats_are_sweeps_in_either_order() -> None:
    by_sweep = read("MHz,dBm\n" + "470.000,-90\n470.025,-91\n" * 3)
    assert by_sweep.sweep.tolist() == [0, 0, 1, 1, 2, 2]
    by_frequency = read("MHz,dBm\n470.000,-90\n470.000,-91\n470.025,-92\n470.025,-93\n")
    assert by_frequency.sweep.tolist() == [0, 1, 0, 1]


def test_a_column_of_sweeps_tells_them_apart() -> None:
    found = read("sweep,MHz,dBm\nfirst,470.000,-90\nfirst,470.025,-90\nsecond,470.003,-91\nsecond,470.028,-91\n")
    assert found.sweep.tolist() == [0, 0, 1, 1]


def test_bounds_and_stopping(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    def stop(lines: int) -> bool:
        asked.append(lines)
        return len(asked) == 2

    text = "MHz,dBm\n" + "470.000,-90\n" * 300_000
    assert read_levels(io.BytesIO(text.encode()), "evening.csv", stop) is None
    assert 0 < asked[0] < asked[1] < 300_001
    monkeypatch.setattr(levels_file, "LINES_MAXIMUM", 1_000)
    assert fault(text).expected == "at most 1000 lines"


@given(
    st.lists(st.tuples(st.integers(25_000_000, 8_000_000_000), st.integers(-19_999, 5_999)), min_size=1, max_size=40),
    st.sampled_from([(1, "Hz"), (1_000, "kHz"), (1_000_000, "MHz"), (1_000_000_000, "GHz")]),
    st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", ","), ("\t", ".")]),
)
@settings(max_examples=50)
def test_what_is_written_is_read(rows: list[tuple[int, int]], unit: tuple[int, str], marks: tuple[str, str]) -> None:
    """Also against numpy's own reader where a point is the decimal mark."""
    delimiter, point = marks
    lines = [f"{hz / unit[0]:.9f}{delimiter}{level / 100:.2f}".replace(".", point) for hz, level in rows]
    found = read(f"Frequency ({unit[1]}){delimiter}dBm\n" + "\n".join(lines) + "\n")
    assert found.frequency_hz.tolist() == [hz for hz, _ in rows]
    assert np.round(found.level_dbm * 100).tolist() == [level for _, level in rows]
    if point == ".":
        oracle = np.loadtxt(io.StringIO("\n".join(lines)), delimiter=delimiter, ndmin=2)
        assert np.array_equal(oracle[:, 1], found.level_dbm)
