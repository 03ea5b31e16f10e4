"""Every public name says what it takes and what it raises, in numpydoc form.

Checked on the source: a docstring is there; ``Parameters`` names every argument; ``Attributes`` or
``Parameters`` of a data class names every field; ``Raises`` names every error raised in the body.
"""

import ast
import inspect
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "singlerail_nb"
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if re.match(r"[^_]|__init__", path.stem))
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
FIELD_CLASSES = {"dataclass", "NamedTuple", "TypedDict"}


def section(docstring, title):
    """Return the names listed in a section: {"low", "high"} for the line "low, high : float"."""
    pattern = rf"^{title}\n-+\n(.*?)(?=\n\n?[A-Z][\w ]*\n-+\n|\Z)"
    found = re.search(pattern, docstring, re.DOTALL | re.MULTILINE)
    lines = found[1].splitlines() if found else []
    heads = [line.partition(" : ")[0] for line in lines if line and not line[0].isspace()]
    return {name.strip().lstrip("*") for head in heads for name in head.split(",")}


def decorators(node):
    """Return the last words of the decorators and bases: {"dataclass", "setter"}."""
    parts = [*node.decorator_list, *getattr(node, "bases", ())]
    bare = [part.func if isinstance(part, ast.Call) else part for part in parts]
    return {getattr(part, "attr", None) or getattr(part, "id", None) for part in bare}


def arguments(function, *, is_method):
    spec = function.args
    named = [argument.arg for argument in [*spec.posonlyargs, *spec.args, *spec.kwonlyargs]]
    named += [argument.arg for argument in (spec.vararg, spec.kwarg) if argument]
    bound = is_method and "staticmethod" not in decorators(function)
    return [name for name in named[bound:] if not name.startswith("_")]


def fields(cls):
    """Return the public fields of a data class that its maker is given."""
    made_later = {"ClassVar", "field(init=False"}
    return [
        line.target.id
        for line in cls.body
        if isinstance(line, ast.AnnAssign)
        and not line.target.id.startswith("_")
        and not any(mark in ast.unparse(line) for mark in made_later)
    ]


def own_nodes(function):
    """Yield the nodes of a body without those of functions inside it."""
    waiting = list(function.body)
    while waiting:
        node = waiting.pop()
        yield node
        if not isinstance(node, (*FUNCTIONS, ast.ClassDef, ast.Lambda)):
            waiting.extend(ast.iter_child_nodes(node))


def raised(function):
    """Return the names of the errors that a body makes and raises; a bare ``raise`` makes none."""
    errors = (node.exc for node in own_nodes(function) if isinstance(node, ast.Raise))
    makers = [error.func for error in errors if isinstance(error, ast.Call)]
    names = {getattr(maker, "attr", None) or getattr(maker, "id", None) for maker in makers}
    return {name for name in names if name and name[0].isupper()}


def function_faults(function, where, *, is_method):
    docstring = inspect.cleandoc(ast.get_docstring(function) or "")
    if not docstring:
        yield f"{where} has no docstring"
        return
    missing = set(arguments(function, is_method=is_method)) - section(docstring, "Parameters")
    if missing:
        yield f"{where}: Parameters does not name {sorted(missing)}"
    silent = raised(function) - section(docstring, "Raises")
    if silent:
        yield f"{where}: Raises does not name {sorted(silent)}"


def class_faults(cls, where, siblings):
    docstring = inspect.cleandoc(ast.get_docstring(cls) or "")
    if not docstring:
        yield f"{where} has no docstring"
        return
    start = next((item for item in cls.body if isinstance(item, FUNCTIONS) and item.name == "__init__"), None)
    wanted = arguments(start, is_method=True) if start else []
    if decorators(cls) & FIELD_CLASSES:
        wanted = fields(cls)
    # A field that only changes the default of a base class is described there.
    told_before = {name for base in siblings if base.name in decorators(cls) for name in fields(base)}
    listed = section(docstring, "Parameters") | section(docstring, "Attributes") | told_before
    if set(wanted) - listed:
        yield f"{where}: Parameters or Attributes does not name {sorted(set(wanted) - listed)}"


def faults(tree, where):
    """Yield a sentence for each public name of a module or class that says too little."""
    for node in tree.body:
        name = getattr(node, "name", "_")
        if name.startswith("_"):
            continue
        if isinstance(node, ast.ClassDef):
            siblings = [other for other in tree.body if isinstance(other, ast.ClassDef)]
            yield from class_faults(node, f"{where}.{name}", siblings)
            yield from faults(node, f"{where}.{name}")
        elif isinstance(node, FUNCTIONS) and not decorators(node) & {"overload", "setter", "override"}:
            yield from function_faults(node, f"{where}.{name}", is_method=isinstance(tree, ast.ClassDef))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_public_names_say_what_they_take(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert not tree.body or ast.get_docstring(tree), "the module has no docstring"
    found = list(faults(tree, path.stem))
    assert not found, "\n".join(found)


SAMPLE = '''
def corner(resistance, *, capacitance):
    """Return the corner frequency.

    Parameters
    ----------
    resistance : float
        In ohm.

    Returns
    -------
    float
        In hertz.
    """
    if capacitance < 0:
        raise QuantityError("capacitance")


def undocumented(): ...


@dataclass(frozen=True)
class Bias:
    """A bias.

    Attributes
    ----------
    voltage, current : float
        In volt and ampere.
    """

    voltage: float
    current: float
    node: str
    known: ClassVar[int] = 3

    @classmethod
    def of(cls, supply):
        """Make one."""

    def level(self):
        """Return the level."""

    def __repr__(self):
        return "Bias"


@dataclass
class Reference(Bias):
    """A bias from a reference."""

    node: str = "reference"
    drift: float = 0.0


class Ladder:
    """A ladder.

    Parameters
    ----------
    steps : int
        Number of steps.
    """

    def __init__(self, steps, tap): ...


def _private(x): ...
'''


def test_rules_find_what_is_missing():
    assert list(faults(ast.parse(SAMPLE), "m")) == [
        "m.corner: Parameters does not name ['capacitance']",
        "m.corner: Raises does not name ['QuantityError']",
        "m.undocumented has no docstring",
        "m.Bias: Parameters or Attributes does not name ['node']",
        "m.Bias.of: Parameters does not name ['supply']",
        "m.Reference: Parameters or Attributes does not name ['drift']",
        "m.Ladder: Parameters or Attributes does not name ['tap']",
    ]
