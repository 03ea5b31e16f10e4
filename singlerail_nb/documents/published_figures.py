"""The one table of published worked figures: `published()`.

Only figures and sources are taken over.  ``read`` says how a figure was obtained: in the document itself, or
via a textbook companion, which is one step away from the book.
"""

from __future__ import annotations

from functools import cache

from ..analysis.bandwidth import bandwidth
from ..analysis.cascade import cascade_bandwidth
from ..analysis.stage import Stage
from . import published_circuits as built
from .published import PublishedFigure, PublishedTable, Source

_READ, _COMPANION = "read in the document", "read via a textbook companion"
AN581 = Source(
    "AN-581",
    "C. Kitchin, Biasing and Decoupling Op Amps in Single Supply Applications, Analog Devices AN-581 "
    "(author from memory)",
    _READ,
)
OAFE = Source(
    "Op Amps for Everyone", "R. Mancini (ed.), Op Amps for Everyone, Texas Instruments SLOD006", _READ
)
TERRELL = Source(
    "Terrell",
    "D. Terrell, Op Amps: Design, Application, and Troubleshooting, 2nd ed. (author and edition from memory)",
    _READ,
)
POCKET = Source(
    "SLYW038D", "Analog Engineer's Pocket Reference, Texas Instruments SLYW038D, settling-time tables", _READ
)
GAYAKWAD = Source("Gayakwad", "R. Gayakwad, Op-Amps and Linear Integrated Circuits", _COMPANION)
BELL = Source("Bell", "D. Bell, Electronic Devices and Circuits", _COMPANION)
FRANCO = Source(
    "Franco",
    "S. Franco, Design with Operational Amplifiers and Analog Integrated Circuits, 3rd ed.",
    _COMPANION,
)
FIORE = Source("Fiore", "J. Fiore, Operational Amplifiers and Linear Integrated Circuits", _COMPANION)
COUGHLIN = Source(
    "Coughlin & Driscoll",
    "R. Coughlin and F. Driscoll, Operational Amplifiers and Linear Integrated Circuits",
    _COMPANION,
)
GUPTA = Source(
    "Gupta", "J. B. Gupta, Electronic Devices and Circuits", "as corrected by a textbook companion"
)
PAUL = Source("Paul", "J. Paul, p. 423 (title not read)", _COMPANION)

_TABLE_1 = (0.3e-6, 16.5e3, 1.5e-6, 3e-6, 0.2e-6)
_CASE_2 = {"r_g": 20e3, "r_f": 180e3, "r_ref_bottom": 820.0, "r_ref_top": 75e3}
_CASE_3 = {"r_in": 10e3, "r_f": 56e3, "r_ref_bottom": 2e3, "r_ref_top": 300e3}


def _low(made: Stage) -> float:
    """Return the low-end cut-off of a stage, Hz."""
    return made.transfer("signal", "output").low_cutoff()


def _filter(made: Stage) -> float:
    """Return the corner of a bias filter, Hz."""
    return made.transfer("supply", "bias").high_cutoff()


@cache
def published() -> PublishedTable:
    """Return the published figures; each is recomputed from its circuit when its answer is asked for."""
    return PublishedTable((*_bias(), *_coupling(), *_gain(), *_level(), *_top_end(), *_time_and_noise()))


def _bias() -> tuple[PublishedFigure, ...]:
    return (
        PublishedFigure(
            "divider alone", AN581, "text", "what a divider takes from the ripple of its rail",
            "two equal resistors, no capacitor", "6 dB", "dB",
            lambda: -built.divider(100e3, 100e3).transfer("supply", "bias").magnitude_db(100.0),
        ),
        PublishedFigure(
            "zener resistor", AN581, "table 3", "current of a Zener", "12 V, Zener 6.2 V, 1.15 kΩ",
            "5 mA", "A", lambda: built.zener_current(12.0, 6.2, 1.15e3),
        ),
        PublishedFigure(
            "bias filter", AN581, "text", "corner of a bias filter", "100 kΩ, 100 kΩ, 0.1 µF", "30 Hz", "Hz",
            lambda: _filter(built.divider(100e3, 100e3, 0.1e-6)),
            "rounded to one digit",
        ),
        PublishedFigure(
            "stiff bias filter", OAFE, "section 10.6", "corner of a bias filter", "1 kΩ, 1 kΩ, 0.1 µF",
            "796 Hz", "Hz", lambda: _filter(built.divider(1e3, 1e3, 0.1e-6)),
            "the capacitor sees both resistors in parallel (500 Ω), not in series (2 kΩ)",
        ),
        PublishedFigure(
            "settling", AN581, "text", "time until the bias has settled to 1 %", "100 kΩ, 100 kΩ, 3 µF",
            "0.15 s", "s",
            lambda: built.bias_settling(built.divider(100e3, 100e3, 3e-6), 0.01),
            "0.15 s is one time constant: 63 % of the way",
        ),
    )  # fmt: skip


def _coupling() -> tuple[PublishedFigure, ...]:
    return (
        PublishedFigure(
            "whole corner", AN581, "table 1, row 1", "low-end cut-off of the stage",
            "C_IN 0.3 µF, R1 16.5 kΩ, C1 1.5 µF, C2 3 µF, C_OUT 0.2 µF", "10 Hz", "Hz",
            lambda: _low(built.an581_noninverting(*_TABLE_1)),
            "each capacitor has its share; three shares together cut off higher than planned",
        ),
        PublishedFigure(
            "leg forgotten", GAYAKWAD, "example 6.2", "low-end cut-off of the stage",
            "C_i 0.1 µF at 50 kΩ, R_1 100 kΩ with C_1 0.1 µF, R_F 1 MΩ", "31.8 Hz", "Hz",
            lambda: _low(built.gayakwad_6_2()),
            "31.8 Hz is the input alone; the gain leg has a corner of 15.9 Hz",
        ),
        PublishedFigure(
            "inverting input", GAYAKWAD, "example 6.1", "low-end cut-off", "R_o 50 Ω, R_1 100 Ω, C_i 0.1 µF",
            "10.61 kHz", "Hz",
            lambda: _low(built.inverting(100.0, 1e3, 0.1e-6, r_source=50.0)),
        ),
        PublishedFigure(
            "output capacitor", BELL, "example 14.7", "corner of the output coupling", "8.2 µF into 600 Ω",
            "32.36 Hz", "Hz",
            lambda: _low(built.inverting(1e3, 1e3, c_out=8.2e-6, r_load=600.0)),
            "3.14 was used for π",
        ),
        PublishedFigure(
            "two corners", TERRELL, "table 2.5", "whole cut-off over the higher of two corners",
            "corners 2.0 to 1", "1.194", "ratio",
            lambda: _low(built.coupled_follower(2.0)) / 30.0,
        ),
        PublishedFigure(
            "two corners, next line", TERRELL, "table 2.5", "whole cut-off over the higher of two corners",
            "corners 2.1 to 1", "1.790", "ratio",
            lambda: _low(built.coupled_follower(2.1)) / 30.0,
            "digits exchanged: 1.179; 1.790 would be more than for equal corners",
        ),
        PublishedFigure(
            "root of squares", PAUL, "p. 423", "cut-off of three corners in a row", "100, 150 and 200 Hz",
            "269.26 Hz", "Hz",
            lambda: _low(built.three_couplings(100.0, 150.0, 200.0)),
            "corners do not add as squares; that rule is 10 % low here",
        ),
        PublishedFigure(
            "corner of each", GUPTA, "example 8.13", "corner of each of three equal stages",
            "whole cut-off 25 Hz", "49.04 Hz", "Hz",
            lambda: 25.0 / _low(built.three_couplings(1.0, 1.0, 1.0)),
            "the factor 1.96 was applied the wrong way round",
        ),
    )  # fmt: skip


def _gain() -> tuple[PublishedFigure, ...]:
    return (
        PublishedFigure(
            "gain", AN581, "table 1, row 1", "mid-band gain", "R1 16.5 kΩ, R2 150 kΩ", "10 V/V", "V/V",
            lambda: built.an581_noninverting(*_TABLE_1).section("plus", "amp_out").midband_gain(),
        ),
        PublishedFigure(
            "inverting gain", AN581, "table 2, row 1", "mid-band gain", "R1 2 kΩ, R2 50 kΩ", "10 V/V", "V/V",
            lambda: built.inverting(2e3, 50e3).transfer("signal", "amp_out").midband_gain(),
            "the whole table fits other values of R2 than the 50 kΩ printed with it",
        ),
        PublishedFigure(
            "input room", AN581, "text", "how far the signal may go up",
            "5 V, bias 2.5 V, inputs work up to 1.8 V below the rail", "1 Vp", "Vp",
            lambda: built.room_upwards(5.0, 2.5, 1.8),
            "5 V less 1.8 V is 3.2 V, which is 0.7 V above 2.5 V", is_exact=True,
        ),
    )  # fmt: skip


def _level() -> tuple[PublishedFigure, ...]:
    return (
        PublishedFigure(
            "case 1 slope", OAFE, "chapter 4, case 1", "slope of a level shift",
            "R1 10 kΩ, R2 180 kΩ, RG 10 kΩ, RF 27 kΩ", "3.5 V/V", "V/V",
            lambda: built.shift_line("shift_up", 5.0, r_in=10e3, r_ref=180e3, r_g=10e3, r_f=27e3)[0],
        ),
        PublishedFigure(
            "case 2 slope", OAFE, "chapter 4, case 2", "slope of a level shift",
            "RG 20 kΩ, RF 180 kΩ, R2 820 Ω, R1 75 kΩ", "10 V/V", "V/V",
            lambda: built.shift_line("shift_down", 5.0, **_CASE_2)[0],
            "R1 and R2 in parallel stand in series with RG; the text leaves them out", is_exact=True,
        ),
        PublishedFigure(
            "case 3 slope", OAFE, "chapter 4, case 3", "slope of a level shift", "RG 10 kΩ, RF 56 kΩ",
            "-5.6 V/V", "V/V", lambda: built.shift_line("inverting_shift_up", 10.0, **_CASE_3)[0],
        ),
    )  # fmt: skip


def _top_end() -> tuple[PublishedFigure, ...]:
    return (
        PublishedFigure(
            "gain of minus one", COUGHLIN, "section 10.6", "top-end cut-off of an inverting stage of gain -1",
            "gain-bandwidth product 1 MHz", "500 kHz", "Hz",
            lambda: bandwidth(built.inverting(10e3, 10e3, opamp=built.ONE_MEGAHERTZ)).exact,
        ),
        PublishedFigure(
            "slowest of three", FIORE, "example 5.4", "top-end cut-off of three stages",
            "gain-bandwidth product 1 MHz, noise gains 8, 3 and 4", "125 kHz", "Hz",
            lambda: cascade_bandwidth([1e6 / 8, 1e6 / 3, 1e6 / 4]),
            "125 kHz is the slowest stage alone; the others cut as well",
        ),
        PublishedFigure(
            "two equal stages", FRANCO, "example 6.2", "top-end cut-off of two equal stages",
            "60 dB together, gain-bandwidth product 1 MHz", "20.35 kHz", "Hz",
            lambda: cascade_bandwidth([1e6 / 1000.0**0.5] * 2),
        ),
    )  # fmt: skip


def _time_and_noise() -> tuple[PublishedFigure, ...]:
    return (
        PublishedFigure(
            "12 bits", POCKET, "12 bits", "time constants until an RC has settled", "to one part in 2^12",
            "8.32", "ratio", lambda: built.settled_taus(12),
        ),
        PublishedFigure(
            "16 bits", POCKET, "16 bits", "time constants until an RC has settled", "to one part in 2^16",
            "11.04", "ratio", lambda: built.settled_taus(16), "misprint of 11.09",
        ),
        PublishedFigure(
            "resistor noise", OAFE, "equation 10-13", "noise of a resistor",
            "100 kΩ, 298 K, 20 Hz to 20 kHz", "5.73 µVrms", "Vrms",
            lambda: built.resistor_noise(100e3, 20.0, 20e3, 298.0),
        ),
        PublishedFigure(
            "bias current", FRANCO, "example 5.1", "error at the output by the bias current",
            "R1 22 kΩ, R2 2.2 MΩ, 80 nA", "175 mV", "V",
            lambda: built.bias_current_error(22e3, 2.2e6, 80e-9), "cut short: 80 nA in 2.2 MΩ are 176 mV",
        ),
    )  # fmt: skip
