"""Bench files of many dialects are understood the same; what is not good is left out aloud."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from singlerail_nb.errors import SingleRailError
from singlerail_nb.measurement import text_table
from singlerail_nb.measurement.measured import MeasuredResponse, MeasuredWaveform
from singlerail_nb.measurement.reading import read_measurement

F = [10.0, 100.0, 1000.0]
DB = [1.5, 20.25, 26.0]
DIALECTS = {
    "comma": "f [Hz],gain [dB]\n10,1.5\n100,20.25\n1000,26\n",
    "semicolon, decimal comma": "Frequency (Hz);Gain (dB)\n10;1,5\n100;20,25\n1000;26\n",
    "tab": "freq/Hz\tmag/dB\n10\t1.5\n100\t20.25\n1000\t26.0\n",
    "tab, decimal comma": "f/kHz\tgain/dB\n0,01\t1,5\n0,1\t20,25\n1\t26\n",
    "spaces": "f / Hz   gain / dB\n 10   1.5\n 100  20.25\n 1e3  26\n",
    "quoted": '"f, Hz","gain, dB"\n"10","1,5"\n"100","20,25"\n"1000","26,0"\n',
    "units in the cells": "10 Hz; 1.5 dB\n100 Hz; 20.25 dB\n1 kHz; 26 dB\n",
    "wide spaces": "10 Hz   1.5 dB\n100 Hz   20.25 dB\n1 kHz   26 dB\n",
    "units below the titles": "Model,7\nFrequency,Gain\n(Hz),(dB)\n10,1.5\n100,20.25\n1000,26\n",
    "titles in a comment": "# hive\n# f Hz, gain dB\n10,1.5\n100,20.25\n1000,26\n",
    "old line ends": "f Hz,gain dB\r10,1.5\r100,20.25\r1000,26\r",
    "byte order mark": "\ufefff Hz,gain dB\r\n10,1.5\r\n100,20.25\r\n1000,26\r\n",
    "more columns": "no;f Hz;remark;gain dB\n1;10;ok;1.5\n2;100;ok;20.25\n3;1000;ok;26\n",
    "not sorted": "f Hz,gain dB\n1000,26\n10,1.5\n100,20.25\n",
    "minus sign of a typesetter": "f Hz,gain dB,phase deg\n10,1.5,\u221290\n100,20.25,1\n1000,26,0\n",
}


@pytest.mark.parametrize("text", DIALECTS.values(), ids=DIALECTS)
def test_every_dialect_gives_the_same_response(text):
    data = read_measurement(text)
    assert isinstance(data, MeasuredResponse)
    np.testing.assert_allclose(data.frequency, F, rtol=1e-15)
    np.testing.assert_allclose(data.gain_db, DB, rtol=1e-12)
    assert not data.understood.left_out


def test_what_was_understood_is_reported():
    text = read_measurement("made in a lab\n# hive\nf [kHz];gain\n0,1;-3\n1;0,5\nbad;1\n").text
    for words in (
        "semicolon", "decimal comma", "frequency in Hz times 1e3", "titles: line 3", "comments: line 2",
        "passed over: line 1", "taken as dB", "LEFT OUT: 1 rows", "line 6: frequency 'bad'",
    ):  # fmt: skip
        assert words in text


@pytest.mark.parametrize(
    ("header", "factor"),
    [("f Hz,Vin mVpp,Vout mVpp", 1.0), ("f Hz,Vin mVpp,Vout Vpp", 1000.0), ("f Hz,in Vrms,out Vpp", 0.5**1.5),
     ("f Hz,input,output", 1.0), ("f Hz,ch1 V,ch2 V", 1.0)],
)  # fmt: skip
def test_amplitudes_become_a_ratio(header, factor):
    data = read_measurement(f"{header}\n10,20,40\n20,20,60\n")
    np.testing.assert_allclose(data.gain, np.array([2.0, 3.0]) * factor, rtol=1e-12)


def test_levels_in_decibels_are_subtracted():
    data = read_measurement("f Hz,input dB,output dB\n10,-40,-20\n20,-40,-14\n")
    np.testing.assert_allclose(data.gain_db, [20.0, 26.0])


@pytest.mark.parametrize(
    ("text", "gain"),
    [("f Hz,gain V/V\n1,2\n2,3\n", [2, 3]), ("f Hz,gain %\n1,50\n2,100\n", [0.5, 1]),
     ("f Hz,gain\n1,2\n2,3\n", [2, 3]), ("f Hz,gain\n1,-20\n2,0\n", [0.1, 1])],
)  # fmt: skip
def test_ratio_or_decibels(text, gain):
    data = read_measurement(text)
    np.testing.assert_allclose(data.gain, gain)
    assert bool(data.understood.notes) == ("gain\n" in text)


def test_time_and_volts():
    data = read_measurement("time [ms]\tamp_out [mV]\n-1\t0\n0\t5\n2\t4500\n", columns=("time ms", "u mV"))
    assert isinstance(data, MeasuredWaveform)
    np.testing.assert_allclose(data.time, [-1e-3, 0.0, 2e-3])
    np.testing.assert_allclose(data.volts, [0.0, 5e-3, 4.5])
    assert "3 points, -1 ms to 2 ms" in data.text


def test_columns_may_be_named_and_passed_over():
    data = read_measurement("1,7,10,2\n2,7,20,4\n", columns=("", "", "f kHz", "gain V/V"))
    np.testing.assert_allclose(data.frequency, [1e4, 2e4])
    assert list(data.lines) == [1, 2]


BAD_ROWS = (
    "0,1", "-5,1", "10", "10,inf", "10,nan", "10,1_0", "ten,1", "10,5 V", "1e400,1", "10,1e3", "10,0x10",
)  # fmt: skip


@pytest.mark.parametrize("row", BAD_ROWS)
def test_a_bad_row_is_left_out_with_its_line_number(row):
    data = read_measurement(f"f Hz,gain dB\n10,1\n20,2\n{row}\n30,3\n")
    assert [left.line for left in data.understood.left_out] == [4]
    assert data.frequency.size == 3
    assert "LEFT OUT: 1 rows\n  line 4: " in data.text


@pytest.mark.parametrize(
    "text",
    ["", "\n", "no numbers\nhere\n", "1,2\n3,4\n", "f Hz;u V\n1;2\n3;4\n", "time s;a V;b V\n1;2;3\n2;3;4\n",
     "f Hz,gain dB\n1,2\n", "f Hz,gain dB\n1,2\nx,1\nx,1\nx,1\n", "f Hz,input V,output dB\n1,2,3\n2,3,4\n",
     "no such file", "\0"],
)  # fmt: skip
def test_what_is_no_measurement_is_refused(text):
    with pytest.raises(SingleRailError, match="allowed"):
        read_measurement(text)


def test_size_is_bounded(monkeypatch, tmp_path):
    monkeypatch.setattr(text_table, "MOST_LINES", 100)
    with pytest.raises(SingleRailError, match="201 lines"):
        read_measurement("1,2\n" * 200)
    monkeypatch.setattr(text_table, "MOST_CHARACTERS", 100)
    with pytest.raises(SingleRailError, match="characters"):
        read_measurement("1,2\n" * 50)
    path = tmp_path / "large.csv"
    with path.open("wb") as file:
        file.truncate(20_000_001)
    with pytest.raises(SingleRailError, match="20 MB"):
        read_measurement(path)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_files_of_several_encodings(tmp_path, encoding):
    path = tmp_path / "hive.csv"
    path.write_bytes("f [Hz];gain [dB] für µ\n10;1,5\n100;20,25\n1000;26\n".encode(encoding))
    data = read_measurement(path, columns=("f Hz", "gain dB"))
    np.testing.assert_allclose(data.gain_db, DB)
    assert data.understood.name == "hive.csv"
    assert str(path.parent) not in data.text


WORDS = ["f Hz", "gain dB", "time s", "V", "1,5", "1.5", "1 kHz", "-3 dB", '"', "#", "Hz", "1e5", "9" * 400]
CELLS = st.one_of(
    st.floats().map(str), st.integers().map(str), st.text(max_size=6), st.sampled_from(WORDS)
)  # fmt: skip
LINES = st.lists(CELLS, max_size=5).flatmap(
    lambda cells: st.sampled_from(",;\t ").map(lambda mark: mark.join(cells))
)


@settings(max_examples=300, deadline=None)
@given(st.one_of(st.text(max_size=200), st.lists(LINES, max_size=12).map("\n".join)), st.booleans())
def test_any_text_gives_a_measurement_or_one_error(text, named):
    try:
        data = read_measurement(text + "\n", columns=("f Hz", "gain dB") if named else None)
    except SingleRailError:
        return
    values = data.gain if isinstance(data, MeasuredResponse) else data.volts
    assert np.isfinite(values).all()
    assert values.size == data.lines.size >= 2
    assert data.text


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(st.floats(1e-3, 1e6), st.floats(-90, 90)), min_size=2, max_size=20),
    st.sampled_from([(";", ","), (";", "."), ("\t", ","), (",", ".")]),
)
def test_what_is_written_is_read_back(points, dialect):
    mark, decimal = dialect
    rows = [mark.join(repr(v).replace(".", decimal) for v in point) for point in points]
    data = read_measurement(f"f Hz{mark}gain dB\n" + "\n".join(rows) + "\n")
    in_order = sorted(points, key=lambda point: point[0])
    np.testing.assert_array_equal(data.frequency, [f for f, _ in in_order])
    np.testing.assert_allclose(data.gain_db, [g for _, g in in_order], atol=1e-9)
