"""Where fuzzing starts: a few right and a few wrong inputs of each parser, and the words of its language."""

from __future__ import annotations

import json
from pathlib import Path

STORED = Path(__file__).parents[1] / "designing" / "design_files"


def _utf8(*texts: str) -> tuple[bytes, ...]:
    return tuple(text.encode() for text in texts)


def _words(spaced: str, *others: str) -> tuple[str, ...]:
    return (*spaced.split(), *others)


_MINUS, _WIDE, _MU = "\N{MINUS SIGN}", "\N{NO-BREAK SPACE}", "\N{GREEK SMALL LETTER MU}"

QUANTITIES = _utf8(
    *["4k7", "R47", "4.7uF", "2µ2", "5%", "4,7k", "inf"], "-3 dB", "47 kohm", "1e3 Hz", "1 000", ""
)
QUANTITY_WORDS = _words(
    "R K M k G m u n p e e- e99 e308 Hz kHz ohm Ω V mVpp Vrms dB % V/us nV/sqrt(Hz) degC 0 9999 . , nan 1_0",
    _MINUS, _WIDE, _MU, "\N{ARABIC-INDIC DIGIT THREE}",
)  # fmt: skip

FORMULAS = _utf8(
    "1/(2 pi C_in (R_s + R_bias))", "sqrt(R_s^2 + 4*A)/3", "-(R_s - R_s)^-1", "2^(1/2)", "1e-6*R_s**-3",
    "R_s/(A - A)", "((", "__import__('os')", "\N{GREEK SMALL LETTER PI}·R_s ÷ [A]",
)  # fmt: skip
FORMULA_WORDS = _words(
    "( ) + - * / ^ ** sqrt( pi R_s R_bias C_in A Rbias 0 1 9 12 1e9 1e-99 1/2 ^(1/3) ^-1 ^12 lambda exec(",
    " pi ", " A ", "\N{MIDDLE DOT}",
)  # fmt: skip

MEASUREMENTS = _utf8(
    "f [Hz],gain [dB]\n10,1.5\n100,20\n",
    "Frequency (Hz);Gain (dB)\n10;1,5\n100;20,25\n",
    "# hive\nf/kHz\tgain/dB\n0,01\t1,5\n1\t2\n",
    "time [ms],u [mV]\n0,1\n1,2\n",
    "f Hz,input mVpp,output Vpp,phase deg\n10,20,1,-90\n20,20,2,0\n",
    "10 Hz; 1.5 dB\n1 kHz; 3 dB\n",
    '"f, Hz","gain, dB"\r\n"10","1,5"\r\n"20","2"\r\n',
    "1 2\n3 4\n",
)
MEASUREMENT_WORDS = _words(
    '; , " # gain dB % V/V phase mVpp e308 e-308 - 0 inf in out',
    "\n", "\r", "\r\n", "\t", "f [Hz]", "time s", "\ufeff", _WIDE,
)  # fmt: skip

ANSWERS = _utf8(
    "student,code,P1,M2\nAda Anther,AB12,72 Hz,4k7\n", "student;question;answer\nBo;P1;1,5 Hz\nBo;P1;2\n",
    "name\tP1\n\tx\n", 'student,P1\n"open,1\n', "x\n", "",
)  # fmt: skip
ANSWER_WORDS = _words('student name code question answer P1 M12 E9 F1 " , ;', "\n", "\r\n", "\t", "\0")

TYPED = _utf8(
    "34.9 ± 0.5 Hz", "3.49·10^1", "19x", "3.3 V peak to peak", "1/(2 pi R C) = 40 Hz", "20 dB", "0,5 Vpp",
    "\\frac{1}{2\\pi R_{\\mathrm{bias}} C_{in}}", "34.9 Hz (rounded)", "f = 3 = = 4", "7",
)  # fmt: skip
TYPED_WORDS = _words(
    "± +/- · x10^ e9 pk-pk peak-to-peak ( ) [ ] = ≈ ~ Hz hz kHz Vpp Vp Vrms V/V dB ca. about",
    *["\\frac{", "}{", "}", "_{", "\\pi", "$", ",", "."],
)

_CELLS = ["| Student | Ada |\n| Sheet code | AB |", "**P1.** Which?\n\n72 Hz \\_\\_\\_\n\n---", "P2: 4k7"]
NOTEBOOKS = _utf8(
    json.dumps({"cells": [{"source": cell} for cell in _CELLS]}),
    json.dumps({"cells": [{"source": ["| Student | Bo |\n", "|P1|a|b|c|d|7 Hz|\n"]}]}),
    '{"cells": [[]]}',
    "[]",
)
NOTEBOOK_WORDS = _words(
    '" ] } null 1 \\n **P1.** \\\\_ --- | [[[[[[[[',
    '{"cells": ', '[{"source": ', "| Student |", "| Sheet code |", "P1: ",
)  # fmt: skip

STOCKS = _utf8(
    "kind,value\nresistor,4k7\nresistor,10k\ncapacitor,100n\nc_in,1u\n", "kind,value\nresistor,4k7\n",
    'value,kind,note\n4k7,resistor,"a, b"\n1u,capacitor\n', "kind,value\nr_f\n", "\ufeffkind;value\n", "",
)  # fmt: skip
STOCK_WORDS = _words('kind value resistor capacitor r_f c_in , " 4k7 100n 0 x', "\n", "\r", "\0")

OPAMPS = _utf8(
    '[mine]\ngbw = "1.2 MHz"\nsupply_min = "3 V"\nsupply_max = "16 V"\ndc_gain = "100 dB"\n'
    'offset_voltage = { typ = "2 mV", max = "6 mV", condition = "25 degC" }\nnotes = ["soldered"]\n'
    'swing = [{ load = "10k", low = "0.1 V", high = "1.5 V" }]\n',
    '[a]\ngbw = "1 MHz"\nsupply_min = "3 V"\nsupply_max = "9 V"\nslew_rate = "0.5 V/us"\nreversal = "no"\n',
    "[a.b]\ngbw = 1\n[[c]]\nx = 1979-05-27T07:32:00Z\n", "a = inf", "",
)  # fmt: skip
OPAMP_WORDS = _words(
    '[ ] [[ { } " """ . , gbw supply_min supply_max swing notes typ min max condition load low high source '
    "title noise_voltage bias_current offset_voltage dc_gain second_pole 0x 0b inf nan true 1979-05-27 1e400 "
    "V MHz k",
    " = ", "\n", "[" * 50, "1" * 60,
)  # fmt: skip

BARE, WHOLE = (json.loads((STORED / f"version_1_{kind}.json").read_bytes()) for kind in ("stage", "design"))
_FILM = """[film]
title = "Plastic film"
tolerance = ["-10 %", "10 %"]
temperature = ["-3 %", "3 %"]
ageing_per_decade = ["-1 %", "1 %"]
bias_loss = ["0 %", "0 %"]
insulation = "10000 s"
leakage_rule = false
polarised = false
microphonic = "slight"
stress = "80 %"
smallest = "1 nF"
largest = "10 uF"
"""
CAPACITORS = _utf8(
    _FILM, _FILM.replace("false", "1"), _FILM.replace('"10 %"]', '"-90 %"]'), "film = 1\n", "[film]\n",
    _FILM.replace('["-3 %", "3 %"]', '"3 %"'), _FILM + "colour = 1\n", _FILM + 'name = "x"\n',
)  # fmt: skip
CAPACITOR_WORDS = _words("[ ] = \" ' % s F uF true false title stress smallest largest name 1e999 -1 {}")

DESIGN_FILES = tuple(
    json.dumps(document).encode()
    for document in (
        BARE,
        {**BARE, "opamp": WHOLE["opamp"]},
        {**BARE, "schema": 2},
        {**BARE, "values": {}},
        {name: value for name, value in WHOLE.items() if name != "opamp"},
        [],
    )
)
DESIGN_WORDS = _words(
    '"infinite" "-infinite" null true [] {} 0 1 -1 1e-300 1e300 1e308 NaN Infinity "noninverting" '
    '"inverting" "follower" "none" "zener"',
    *(f'"{name}": ' for name in (*WHOLE, *WHOLE["requirements"], "r_f", "c_in", "swing", "limits", "notes")),
    ", ", "1" * 60,
)  # fmt: skip


def _places(record: dict[str, object], *way: str) -> list[tuple[str, ...]]:
    """Return the way to each field of a record and of the records in it, and to one that it lacks."""
    found = [(*way, name) for name in (*record, "new")]
    inner = ((name, value) for name, value in record.items() if isinstance(value, dict))
    return found + [place for name, value in inner for place in _places(value, *way, name)]


_UNASKED = [
    "rumble_floor",
    "high_cutoff",
    "divider_current",
    "gain_tolerance",
    "resistor_series",
    "bias_filter_ratio",
]
_UNASKED_OF_THE_OPAMP = ["noise", "noise_low", "noise_high", "dc_error", "full_power"]
PLACES = (
    *_places(WHOLE),
    *(("requirements", name) for name in _UNASKED),
    *(("requirements", "demands", name) for name in _UNASKED_OF_THE_OPAMP),
)
"""The way to every field of a design file."""
VALUES = (
    *(None, True, "", "4k7", "infinite", "-infinite", [], {}, [[]], [{}]),
    *("noninverting", "inverting", "follower", "none", "zener", "E24", "E3"),
    *({"load": 1e3}, {"db": 1.0, "frequency": 0.0}, {"r_f": 1e4}),
    *(0, 1, -1, 2, 0.5, 10.0, 36.0, 100.0, 1e3, 1e4, 1e6, 1e-6, 1e-3, 1e-300, 1e300, 10**400),
)
"""What an edit may put there."""
