"""What is fuzzed: every parser of text that people write, with a seed corpus and the words of its language.

A target takes any bytes.  The parser may return or refuse with the error of this package, which states
quantity, value, allowed and remedy; any other exception is a finding, and so is a program made from the text.
"""

from __future__ import annotations

import contextlib
import copy
import os
import sys
import tempfile
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

import sympy

from singlerail_nb.analysis.capacitor_classes import load_capacitor_classes
from singlerail_nb.circuit.opamp_library import load_opamps
from singlerail_nb.designing.design_file import load_design, read_document
from singlerail_nb.designing.stock import Stock
from singlerail_nb.documents.answers import read_csv
from singlerail_nb.documents.filled_notebooks import read_notebook
from singlerail_nb.documents.typed_answers import plain_formula, read_answer
from singlerail_nb.errors import SingleRailError
from singlerail_nb.formulas import parse_formula, same_formula
from singlerail_nb.measurement.reading import read_measurement
from singlerail_nb.quantities import read_gain, read_part, read_quantity
from singlerail_nb.quantities.units import UNITS
from tests.fuzzing import seeds

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


@dataclass(frozen=True)
class Target:
    """A parser under attack.

    Attributes
    ----------
    read : callable
        Takes bytes; raises only on a finding.
    seeds : tuple of bytes
        Inputs to start from.
    words : tuple of str
        Pieces of its language.
    runs : int
        How many inputs the tests try.
    longest : int
        Bytes of the longest input.
    """

    read: Callable[[bytes], object]
    seeds: tuple[bytes, ...]
    words: tuple[str, ...]
    runs: int
    longest: int = 300


def refusing(calls: Iterable[Callable[[], object]]) -> None:
    """Make each call; let it return or refuse properly."""
    for call in calls:
        try:
            call()
        except SingleRailError as error:
            _check_facts(error)


def _check_facts(error: SingleRailError) -> None:
    facts = (error.quantity, error.allowed, error.remedy)
    assert all(isinstance(fact, str) and fact.strip() for fact in facts), facts
    assert isinstance(error.value, str)
    assert len(str(error)) < MOST_CHARACTERS, len(str(error))


MOST_CHARACTERS = 3000
"""Of an error; longer ones hide what they say."""


def text_of(raw: bytes) -> str:
    return raw.decode("utf-8", errors="surrogateescape")


def quantity(raw: bytes) -> None:
    text = text_of(raw)
    units = (*UNITS, "parsec")
    refusing(lambda u=unit: read_quantity(text, u, name="value", bare=True) for unit in units)
    refusing([lambda: read_gain(text, name="gain")])
    refusing(lambda p=part: read_part(p, text) for part in ("r_f", "c_in", "r_source"))


SYMBOLS = {name: sympy.Symbol(name, positive=True) for name in ("R_s", "R_bias", "C_in", "A")}
ANSWER = 1 / (2 * sympy.pi * SYMBOLS["C_in"] * (SYMBOLS["R_s"] + SYMBOLS["R_bias"]))


def formula(raw: bytes) -> None:
    refusing([lambda: same_formula(parse_formula(text_of(raw), SYMBOLS), ANSWER)])


def measurement(raw: bytes) -> None:
    text = text_of(raw)
    refusing([lambda: read_measurement(text + "\n").text, lambda: read_measurement(_file(raw)).text])
    refusing([lambda: read_measurement(text + "\n", columns=("f Hz", "gain dB")).text])


def answers(raw: bytes) -> None:
    refusing([lambda: read_csv(text_of(raw))])


def typed(raw: bytes) -> None:
    text = text_of(raw)
    refusing(
        [lambda: plain_formula(text), *(partial(read_answer, text, unit) for unit in ("Hz", "Vpp", "V/V"))]
    )


def notebook(raw: bytes) -> None:
    refusing([lambda: read_notebook(text_of(raw))])


def stock(raw: bytes) -> None:
    refusing([lambda: Stock.from_csv(_file(raw))])


def opamps(raw: bytes) -> None:
    refusing([lambda: load_opamps(_file(raw))])


def capacitors(raw: bytes) -> None:
    refusing([lambda: load_capacitor_classes(_file(raw))])


def design_file(raw: bytes) -> None:
    refusing([lambda: load_design(_file(raw))])


def edited_design(raw: bytes) -> None:
    """Take the bytes as edits of a whole design: one says which field, the next what stands there."""
    document = copy.deepcopy(seeds.WHOLE)
    for where, what in zip(raw[::2], raw[1::2], strict=False):
        *way, last = seeds.PLACES[where % len(seeds.PLACES)]
        record = document
        for key in way:
            record = record.get(key) if isinstance(record, dict) else None
        if isinstance(record, dict):
            record[last] = copy.deepcopy(seeds.VALUES[what % len(seeds.VALUES)])
    refusing([lambda: read_document(document)])


@cache
def _place() -> Path:
    return Path(tempfile.mkdtemp(prefix="fuzzing"))


def _file(raw: bytes) -> Path:
    path = _place() / f"fuzzed{os.getpid()}"
    path.write_bytes(raw)
    return path


TARGETS = {
    "quantity": Target(quantity, seeds.QUANTITIES, seeds.QUANTITY_WORDS, runs=1500, longest=80),
    "formula": Target(formula, seeds.FORMULAS, seeds.FORMULA_WORDS, runs=5000, longest=220),
    "measurement": Target(measurement, seeds.MEASUREMENTS, seeds.MEASUREMENT_WORDS, runs=1000),
    "answers": Target(answers, seeds.ANSWERS, seeds.ANSWER_WORDS, runs=5000),
    "typed": Target(typed, seeds.TYPED, seeds.TYPED_WORDS, runs=1500, longest=120),
    "notebook": Target(notebook, seeds.NOTEBOOKS, seeds.NOTEBOOK_WORDS, runs=5000, longest=600),
    "stock": Target(stock, seeds.STOCKS, seeds.STOCK_WORDS, runs=1500),
    "opamps": Target(opamps, seeds.OPAMPS, seeds.OPAMP_WORDS, runs=1500, longest=600),
    "capacitors": Target(capacitors, seeds.CAPACITORS, seeds.CAPACITOR_WORDS, runs=1000, longest=800),
    "design_file": Target(design_file, seeds.DESIGN_FILES, seeds.DESIGN_WORDS, runs=600, longest=2500),
    "edited_design": Target(edited_design, (b"", b"\1\1", b"\5\11\77\3"), (), runs=400, longest=12),
}

_ALARMS = ("os.system", "os.exec", "os.posix_spawn", "subprocess.Popen", "socket.connect", "ctypes.dlopen")


_WRITE_PROGRAMS = ("importlib", str(Path("sympy", "polys", "monomials.py")))
"""Where classes of records and products of monomials are made, by small programs without text of a user."""


def _by_a_library() -> bool:
    frame = sys._getframe()
    while frame is not None and not any(part in frame.f_code.co_filename for part in _WRITE_PROGRAMS):
        frame = frame.f_back
    return frame is not None


@contextlib.contextmanager
def watched():
    """Raise as soon as a text is run as a program, a process is started or a host is called.

    Programs that the package wrote itself from a circuit have a name of their own and are let through.
    """
    watching = True

    def hook(event, arguments):
        if not watching:
            return
        evaluates = event == "exec" and arguments[0].co_filename == "<string>"
        if (evaluates and not _by_a_library()) or event in _ALARMS:
            raise AssertionError(f"a parser ran something: {event}")

    sys.addaudithook(hook)
    try:
        yield
    finally:
        watching = False
