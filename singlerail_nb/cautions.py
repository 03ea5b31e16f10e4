"""Cautions as data: each comes with the part or rail that causes it, so it cannot be forgotten.

None of them replaces the rules that apply where the reader works: local codes and, where these ask
for it, licensed practice come first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from numbers import Real
from typing import Any

from .errors import QuantityError, UnknownNameError

DEFERRING = (
    "Local electrical codes and the rules of your workplace come first; leave to licensed people what they "
    "reserve for them."
)
ELECTROLYTIC_FROM = 1e-6
"""Capacitance from which a capacitor usually is an electrolytic, F (common practice, no published source)."""
ENERGY_FROM = 10e-3
"""Stored energy worth a caution, J (common practice, no published source)."""


@dataclass(frozen=True)
class Caution:
    """Something to know before hands or ears meet the circuit.

    Attributes
    ----------
    key : str
        Short name.
    title : str
        Heading.
    text : str
        What can happen and what to do.
    when : str
        When it applies, in words.
    """

    key: str
    title: str
    text: str
    when: str


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "electrolytic_polarity",
        "Electrolytic capacitors have a right way round",
        "A reverse voltage of 1 V to 1.5 V can already destroy the oxide of an aluminium electrolytic; it "
        "may short, heat up and vent. Turn the + side to the node with the higher resting voltage, check "
        "it while the rail rises and falls too, and keep your face away at the first power-up.",
        "a capacitor of 1 µF or more, or one that sees a reverse voltage",
    ),
    Caution(
        "capacitor_energy",
        "Charged capacitors stay charged",
        "Large capacitors hold their voltage after the rail is gone and can deliver it into a tool, a ring "
        "or a part all at once (4700 µF at 30 V hold 2.1 J). Discharge them through a resistor and measure "
        "before you touch or rework the circuit; a bleeder resistor does it for good.",
        "10 mJ or more in all capacitors together",
    ),
    Caution(
        "vehicle_rail",
        "A vehicle rail is not a clean 12 V",
        "This model knows a steady rail with ripple. Load dump, cranking, jump start, reversed battery and "
        "fast pulses are outside it; ISO 16750-2 and ISO 7637-2 describe them, and tens of volts arrive in "
        "practice. Put a fuse and protection in front that is made and tested for vehicles, and do not "
        "connect an experiment to a vehicle that is to be driven. " + DEFERRING,
        "a rail from a vehicle or farm machine",
    ),
    Caution(
        "aircraft_rail",
        "An aircraft rail belongs to an aircraft",
        "This model knows a steady 28 V rail with ripple. Transients, interruptions and emergency operation "
        "are outside it; MIL-STD-704 describes them. Work on a bench supply only: anything connected to "
        "an aircraft needs approved design, parts and licensed personnel. " + DEFERRING,
        "a rail of the 28 V aircraft type",
    ),
    Caution(
        "mains_supply",
        "Keep to the safe side of the mains",
        "Use a closed, approved supply with isolation (safety extra-low voltage, at most 60 V DC) and do "
        "not open it: parts inside stay dangerous after it is unplugged. Never derive the rail from the "
        "mains without isolation. " + DEFERRING,
        "a rail that comes from the mains",
    ),
    Caution(
        "hearing",
        "Take the headphones off before switching",
        "A stage that wakes up or goes to sleep sends a thump to its load, and a wrong gain or a loose wire "
        "can be far louder. Switch on with the headphones on the table and the level down, then listen. "
        "Limits for noise at work are counted as level and time; your local rules apply.",
        "a load that is, or leads to, headphones or loudspeakers",
    ),
)


class Cautions(tuple[Caution, ...]):
    """Cautions in the order of `CAUTIONS`; shows itself as one block each in a notebook."""

    __slots__ = ()

    def __repr__(self) -> str:
        return "\n".join(f"Caution. {found.title}. {found.text}" for found in self)

    def _repr_markdown_(self) -> str:
        return "\n\n".join(f"> ⚠ **{found.title}.** {found.text}" for found in self)


_BY_SUPPLY = {"vehicle": "vehicle_rail", "aircraft": "aircraft_rail", "mains": "mains_supply"}
SUPPLY_KINDS = ("battery", "usb", *_BY_SUPPLY)
"""Kinds of supply that are known; those behind "usb" bring a caution."""


def caution(key: str) -> Caution:
    """Return a caution.

    Parameters
    ----------
    key : str
        Its short name.

    Raises
    ------
    UnknownNameError
        If there is none of that name.
    """
    for found in CAUTIONS:
        if found.key == key:
            return found
    known = ", ".join(found.key for found in CAUTIONS)
    raise UnknownNameError("caution", key, allowed=known, remedy="Use one of these names.")


def cautions_for(
    *,
    capacitors: Mapping[str, float] | None = None,
    highest_rail: float = 0.0,
    supply: str = "",
    reversed_capacitors: bool = False,
    headphones: bool = False,
) -> Cautions:
    """Return the cautions that belong to a circuit, in the order of `CAUTIONS`.

    Parameters
    ----------
    capacitors : mapping of str to float, optional
        Capacitors by name, F; other parts (names that do not start with "c_") are passed over.
    highest_rail : float
        Highest voltage of the rail, V: each capacitor is taken as charged to it.
    supply : str
        Kind of supply: "battery", "usb", "vehicle", "aircraft", "mains" or "" if not known.
    reversed_capacitors : bool
        Whether a capacitor sees a reverse voltage in some phase.
    headphones : bool
        Whether the load is, or leads to, headphones or loudspeakers.

    Raises
    ------
    UnknownNameError
        If the kind of supply is none of these: a caution would be lost without a word.
    QuantityError
        If a capacitance or the rail is no number.
    """
    if supply and supply not in SUPPLY_KINDS:
        raise UnknownNameError(
            "supply kind",
            supply,
            allowed=", ".join(SUPPLY_KINDS),
            remedy="Use the kind that the rail is derived from, so that its cautions appear.",
        )
    farads = _farads(capacitors)
    energy = 0.5 * sum(farads) * _number("highest_rail", highest_rail, "V") ** 2
    keys = {_BY_SUPPLY.get(supply, "")}
    if reversed_capacitors or max(farads, default=0.0) >= ELECTROLYTIC_FROM:
        keys.add("electrolytic_polarity")
    if energy >= ENERGY_FROM:
        keys.add("capacitor_energy")
    if headphones:
        keys.add("hearing")
    return Cautions(found for found in CAUTIONS if found.key in keys)


def _farads(capacitors: Mapping[str, float] | None) -> list[float]:
    given: Any = {} if capacitors is None else capacitors
    if not isinstance(given, Mapping):
        raise QuantityError(
            "capacitors", given, allowed="names with values in F", remedy='Write {"c_in": 10e-6}.'
        )
    return [_number(name, value, "F") for name, value in given.items() if name.startswith("c_")]


def _number(name: str, given: Any, unit: str) -> float:
    if not isinstance(given, Real):
        raise QuantityError(
            name, given, allowed=f"a plain number in {unit}", remedy=f"Write it in {unit}, without its unit."
        )
    return float(given)
