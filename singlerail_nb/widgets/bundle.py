"""The view script and its style, put together from the files in ``browser``.

The files are ordinary JavaScript modules.  A panel, a live handout and the script tests all get
the same single module: the files in order, without the imports between them, after the table of
units that Python itself reads quantities with.
"""

from __future__ import annotations

import json
import re
from functools import cache
from importlib.resources import files

from ..quantities.units import UNITS

MODULES = (
    "polynomials", "numerics", "quantities", "axes", "dom", "drawing", "plot_parts", "plot", "charts",
    "state", "link", "controls", "curves_view", "markup_views", "computed_view", "views", "compare",
    "take_away", "panel",
)  # fmt: skip
"""The script files, each after those that it imports."""

_SHOWN_UNITS = (
    "ohm", "F", "Hz", "s", "V", "Vp", "Vpp", "Vrms", "A", "W", "dB", "deg", "%", "V/V", "V/sqrt(Hz)",
)  # fmt: skip
_IMPORT = re.compile(r"^import .*;\n", re.MULTILINE)
_COMMENT_LINE = re.compile(r"^\s*//.*\n", re.MULTILINE)
_INDENT = re.compile(r"^ +|\n(?=\n)", re.MULTILINE)


def unit_table() -> str:
    """Return the JavaScript statement that defines the units, from Python's table of units."""
    table = {
        name: {
            "symbol": unit.symbol,
            "quantity": unit.quantity,
            "example": unit.example,
            "written": list(unit.written),
            "codes": list(unit.codes),
            "suffixes": {text: list(meaning) for text, meaning in unit.suffixes.items()},
            "scale": -unit.display_power,
        }
        for name, unit in UNITS.items()
        if name in _SHOWN_UNITS
    }
    return f"const UNIT_TABLE = {json.dumps(table, ensure_ascii=False, separators=(',', ':'))};\n"


def _read(name: str) -> str:
    return files(__package__).joinpath("browser", name).read_text(encoding="utf-8")


@cache
def script() -> str:
    """Return the view script as one JavaScript module."""
    return unit_table() + "".join(_IMPORT.sub("", _read(f"{name}.js")) for name in MODULES)


@cache
def question_script() -> str:
    """Return the script of a single question as one JavaScript module."""
    needed = ("quantities", "dom", "controls", "question")
    plain = unit_table() + "".join(_IMPORT.sub("", _read(f"{name}.js")) for name in needed)
    return plain + "export default { render: renderQuestion };\n"


@cache
def style() -> str:
    """Return the style sheet of panels."""
    return _read("panel.css")


def compact(source: str) -> str:
    """Return a script or style sheet without whole-line comments, indentation and empty lines.

    Parameters
    ----------
    source : str
        Text of `script` or `style`; no text in it continues over a line.
    """
    return _INDENT.sub("", _COMMENT_LINE.sub("", source)).strip() + "\n"
