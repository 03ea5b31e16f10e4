"""The units of this trade: how each is spelled, which prefixes it takes, how it is written.

A unit is one entry of `UNITS`. Reading, writing and error messages all follow that entry.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ..errors import UnknownNameError

#: Power of ten of each SI prefix letter. "K" is the kilo of the IEC 60062 codes, "u" the typed micro.
PREFIXES = {
    "f": -15, "p": -12, "n": -9, "µ": -6, "u": -6, "m": -3, "k": 3, "K": 3, "M": 6, "G": 9, "T": 12,
}  # fmt: skip

#: Prefix letter written for each power of ten.
PREFIX_SYMBOLS = {power: letter for letter, power in PREFIXES.items() if letter not in "uK"} | {0: ""}


@dataclass(frozen=True)
class Unit:
    """One unit and everything that reading and writing need to know about it.

    Attributes
    ----------
    name : str
        What callers pass as `unit`.
    quantity : str
        What it measures, with its article, for error messages.
    symbol : str
        What is written after a number.
    example : str
        A text that would be accepted, for error messages.
    spellings : dict of str to int
        Accepted spelling to the power of ten that brings it to SI.
    prefixes : str
        Accepted SI prefix letters.
    written : tuple of int
        Powers of ten for which a prefix is written, ascending.
    codes : dict of str to int
        Letters of the IEC 60062 code for this unit to powers of ten; empty if it has none.
    signed : bool
        Whether a negative value makes sense.
    suffixes : dict of str to (str, int)
        Everything that may follow a number: text to (prefix letter, power of ten). Derived.
    """

    name: str
    quantity: str
    symbol: str
    example: str
    spellings: dict[str, int]
    prefixes: str = ""
    written: tuple[int, ...] = (0,)
    codes: dict[str, int] = field(default_factory=dict)
    signed: bool = True
    suffixes: dict[str, tuple[str, int]] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        prefixes = {"": 0} | {letter: PREFIXES[letter] for letter in self.prefixes}
        suffixes = {
            prefix + spelling: (prefix, shift + power)
            for spelling, power in self.spellings.items()
            for prefix, shift in prefixes.items()
        }
        # Where a letter code exists, the letter alone also ends a value: "10k", "220n", "470R".
        letters = {letter: (letter.replace("R", ""), power) for letter, power in self.codes.items()}
        object.__setattr__(self, "suffixes", suffixes | letters)

    @property
    def display_power(self) -> int:
        """Power of ten of the written symbol: -2 for %, 6 for V/µs, 0 for plain SI units."""
        return self.spellings.get(self.symbol, 0)


_OHM_CODES = {"R": 0, "m": -3, "k": 3, "K": 3, "M": 6, "G": 9}
_FARAD_CODES = {"p": -12, "n": -9, "u": -6, "µ": -6, "m": -3}
_VOLT_WRITTEN = (-9, -6, -3, 0, 3)

_TABLE = (
    # Resistances and capacitances are written without milli: read as a part, "m" looks like a
    # mistyped M or µ (see parts.py). Frequencies too: mHz next to MHz helps nobody.
    Unit("ohm", "a resistance", "Ω", "4k7", {"Ω": 0}, "mkKMGT", (0, 3, 6, 9, 12), _OHM_CODES, signed=False),
    Unit("F", "a capacitance", "F", "4u7", {"F": 0}, "pnuµm", (-12, -9, -6, 0), _FARAD_CODES, signed=False),
    Unit("H", "an inductance", "H", "10 mH", {"H": 0}, "nuµm", (-9, -6, -3, 0), signed=False),
    Unit("Hz", "a frequency", "Hz", "20 kHz", {"Hz": 0}, "umµkKMG", (0, 3, 6, 9), signed=False),
    Unit("s", "a time", "s", "10 ms", {"s": 0}, "pnuµm", (-12, -9, -6, -3, 0)),
    Unit("V", "a voltage", "V", "9 V", {"V": 0}, "nuµmkK", _VOLT_WRITTEN),
    Unit("Vpp", "a peak-to-peak voltage", "Vpp", "100 mVpp", {"Vpp": 0, "Vp-p": 0}, "nuµmkK", _VOLT_WRITTEN,
         signed=False),
    Unit("Vp", "a peak voltage", "Vp", "100 mVp", {"Vp": 0, "Vpk": 0}, "nuµmkK", _VOLT_WRITTEN, signed=False),
    Unit("Vrms", "an rms voltage", "Vrms", "100 mVrms", {"Vrms": 0}, "nuµmkK", _VOLT_WRITTEN, signed=False),
    Unit("A", "a current", "A", "100 nA", {"A": 0}, "fpnuµm", (-15, -12, -9, -6, -3, 0)),
    Unit("W", "a power", "W", "50 mW", {"W": 0}, "pnuµmkK", (-12, -9, -6, -3, 0, 3)),
    Unit("J", "an energy", "J", "2 mJ", {"J": 0}, "nuµmkK", (-9, -6, -3, 0, 3)),
    Unit("V/V", "a voltage ratio", "V/V", "11 V/V", {"V/V": 0, "V/mV": 3}, "nuµm"),
    Unit("ratio", "a plain ratio", "", "11", {"": 0, "V/V": 0, "V/mV": 3}),
    Unit("dB", "a level in decibels", "dB", "-3 dB", {"dB": 0, "db": 0, "DB": 0}),
    Unit("%", "a percentage", "%", "5%", {"%": -2}),
    Unit("deg", "an angle in degrees", "°", "45 deg", {"°": 0, "deg": 0}),
    Unit("degC", "a Celsius temperature", "°C", "25 degC", {"°C": 0, "degC": 0}),
    Unit("V/us", "a slew rate", "V/µs", "0.5 V/us", {"V/µs": 6, "V/us": 6, "V/ms": 3, "V/s": 0}, "mkK",
         signed=False),
    Unit("V/sqrt(Hz)", "a voltage noise density", "V/√Hz", "5 nV/sqrt(Hz)",
         {"V/√Hz": 0, "V/sqrt(Hz)": 0, "V/rtHz": 0}, "fpnuµm", (-15, -12, -9, -6, -3, 0), signed=False),
    Unit("A/sqrt(Hz)", "a current noise density", "A/√Hz", "1 pA/sqrt(Hz)",
         {"A/√Hz": 0, "A/sqrt(Hz)": 0, "A/rtHz": 0}, "fpnuµm", (-15, -12, -9, -6, -3, 0), signed=False),
)  # fmt: skip

UNITS = {unit.name: unit for unit in _TABLE}


def unit_named(name: str) -> Unit:
    """Look a unit up by the name that callers use.

    Parameters
    ----------
    name : str
        A key of `UNITS`.

    Raises
    ------
    UnknownNameError
        The table has no such unit.
    """
    if name not in UNITS:
        raise UnknownNameError(
            "unit", name, allowed=", ".join(UNITS), remedy="Use one of these, spelled as shown."
        )
    return UNITS[name]
