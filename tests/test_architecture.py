"""The shape of the package: floors, no cycles, light imports, readable sizes, no evaluation of text.

The rules read the source, function-level imports and TYPE_CHECKING blocks included, so that a late
import cannot hide a step up.
"""

import ast
import subprocess
import sys
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = "singlerail_nb"

# From the ground up.  A module may import its own room and the rooms on lower floors.
FLOORS = (
    {"errors", "version"},
    {"quantities", "cautions", "files", "formulas"},
    {"circuit"},
    {"analysis", "measurement"},
    {"designing", "fault_finding"},
    {"plots"},
    {"documents"},
    {"widgets"},
)
# The one step sideways: what the bench said is compared with what the analysis says.
SIDEWAYS = {("measurement", "analysis")}

MOST_FILE_LINES = 350
MOST_FUNCTION_LINES = 60
HEAVY = ("sympy", "scipy.signal", "matplotlib")
# Compiles the programs that the package itself wrote from a circuit; no text of a user gets there.
MAY_COMPILE = {"analysis/evaluation.py"}
EVALUATORS = {"eval", "exec", "compile", "sympify", "S", "parse_expr", "parse_latex"}


def read_package(root):
    """Return {module name: syntax tree} of a package folder."""
    found = {}
    for path in sorted(root.rglob("*.py")):
        parts = path.relative_to(root.parent).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found[name] = (path, ast.parse(path.read_text(encoding="utf-8")))
    return found


def imports_of(name, path, tree):
    """Yield the absolute names of all that a module imports, at any depth of its code."""
    folder = name.split(".") if path.name == "__init__.py" else name.split(".")[:-1]
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = folder[: len(folder) - node.level + 1] if node.level else []
            stem = ".".join([*above, *filter(None, [node.module])])
            yield from (f"{stem}.{alias.name}" for alias in node.names)


def room_of(name):
    """Return the room of a module; the package itself is the front door, above all floors."""
    parts = name.split(".")
    return parts[1] if len(parts) > 1 else ""


def floor_of(room):
    return next((height for height, rooms in enumerate(FLOORS) if room in rooms), None)


def graph(modules):
    """Return {module: modules of the package that it imports}."""
    links = {}
    for name, (path, tree) in modules.items():
        links[name] = set()
        for target in imports_of(name, path, tree):
            if target.split(".")[0] != PACKAGE:
                continue
            # "from .x import y": y is a module, or a name in the module x.
            inside = target if target in modules else target.rpartition(".")[0]
            if inside != name:
                links[name].add(inside)
    return links


def steps_up(modules):
    """Return a sentence for each import that does not go down."""
    faults = []
    for name, targets in graph(modules).items():
        own = room_of(name)
        if not own:
            continue
        for target in targets:
            other = room_of(target)
            if floor_of(own) is None:
                faults.append(f"{name} stands on no floor")
            elif floor_of(other) is None:
                faults.append(f"{name} imports the front door or an unknown room: {target}")
            elif own != other and (own, other) not in SIDEWAYS and floor_of(other) >= floor_of(own):
                faults.append(f"{name} imports {target}, which is not below it")
    return faults


def cycle(modules):
    """Return the modules of an import cycle, or None."""
    try:
        list(TopologicalSorter(graph(modules)).static_order())
    except CycleError as error:
        return error.args[1]
    return None


def long_pieces(modules):
    """Return a sentence for each file or function that is too long to read at once."""
    faults = []
    for name, (path, tree) in modules.items():
        lines = len(path.read_text(encoding="utf-8").splitlines())
        if lines > MOST_FILE_LINES:
            faults.append(f"{name} has {lines} lines")
        for node in ast.walk(tree):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                length = node.end_lineno - node.lineno + 1
                if length > MOST_FUNCTION_LINES:
                    faults.append(f"{name}.{node.name} has {length} lines")
    return faults


def evaluations(modules, root):
    """Return a sentence for each call that would run text as code."""
    faults = []
    for path, tree in modules.values():
        if path.relative_to(root).as_posix() in MAY_COMPILE:
            continue
        for node in ast.walk(tree):
            if isinstance(node, ast.Call):
                called = getattr(node.func, "id", None) or getattr(node.func, "attr", None)
                # re.compile is another thing.
                is_method = isinstance(node.func, ast.Attribute) and called in {"compile", "eval"}
                if called in EVALUATORS and not is_method:
                    faults.append(f"{path.name}:{node.lineno} calls {called}")
    return faults


@pytest.fixture(scope="module")
def package():
    return read_package(ROOT / PACKAGE)


def test_imports_go_down(package):
    assert steps_up(package) == []


def test_no_import_cycle(package):
    assert cycle(package) is None


def test_circuits_know_no_arrays(package):
    guilty = [
        name
        for name, (path, tree) in package.items()
        if room_of(name) == "circuit"
        and any(target.split(".")[0] in {"numpy", "scipy"} for target in imports_of(name, path, tree))
    ]
    assert guilty == []


def test_pieces_can_be_read_at_once(package):
    assert long_pieces(package) == []


def test_no_text_is_run_as_code(package):
    assert evaluations(package, ROOT / PACKAGE) == []


def test_import_is_light():
    program = f"import sys, {PACKAGE}; print([m for m in {HEAVY} if m in sys.modules])"
    printed = subprocess.check_output([sys.executable, "-c", program], text=True, cwd=ROOT)
    assert printed.strip() == "[]"


# A small package in which each rule is broken once.

BROKEN = {
    "__init__.py": "from .designing import choose\n",
    "errors.py": "class E(ValueError): ...\n",
    "attic/x.py": "from ..errors import E\n",
    "circuit/__init__.py": "",
    "circuit/a.py": "def f():\n    from ..analysis import sweep\n    return sweep\n",
    "circuit/b.py": "if TYPE_CHECKING:\n    from singlerail_nb import choose\n",
    "analysis/__init__.py": "def sweep(): ...\n",
    "analysis/one.py": "from . import two\n",
    "analysis/two.py": "def f():\n    from .one import g\n    eval('g'), sympify('1'), re.compile('x')\n",
    "measurement/__init__.py": "from ..analysis import sweep\n",
    "designing/__init__.py": "def choose():\n" + "    x = 1\n" * MOST_FUNCTION_LINES,
    "plots/long.py": "x = 1\n" * (MOST_FILE_LINES + 1),
}


@pytest.fixture
def broken(tmp_path):
    for name, text in BROKEN.items():
        path = tmp_path / PACKAGE / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return tmp_path / PACKAGE


def test_rules_find_what_is_broken(broken):
    modules = read_package(broken)
    assert sorted(steps_up(modules)) == [
        "singlerail_nb.attic.x stands on no floor",
        "singlerail_nb.circuit.a imports singlerail_nb.analysis, which is not below it",
        "singlerail_nb.circuit.b imports the front door or an unknown room: singlerail_nb",
    ]
    assert set(cycle(modules)) == {"singlerail_nb.analysis.one", "singlerail_nb.analysis.two"}
    assert long_pieces(modules) == [
        "singlerail_nb.designing.choose has 61 lines",
        "singlerail_nb.plots.long has 351 lines",
    ]
    assert evaluations(modules, broken) == ["two.py:3 calls eval", "two.py:3 calls sympify"]


def test_the_front_door_shows_public_names_only():
    import singlerail_nb

    shown = [name for name in dir(singlerail_nb) if not name.startswith("__")]
    assert shown == sorted(singlerail_nb.__all__)
    assert all(getattr(singlerail_nb, name) is not None for name in shown)
