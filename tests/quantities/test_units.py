"""The table of units, and how light the room is."""

import ast
import sys
from pathlib import Path

from singlerail_nb import quantities
from singlerail_nb.quantities.units import UNITS, unit_named


def test_unit_table_has_no_ambiguous_suffix():
    for unit in UNITS.values():
        count = (1 + len(unit.prefixes)) * len(unit.spellings)
        own = [suffix for suffix in unit.suffixes if suffix not in unit.codes]
        assert len(own) == count, unit.name
        assert unit_named(unit.name) is unit


def test_quantities_stand_on_the_standard_library_alone():
    modules = list(Path(quantities.__file__).parent.glob("*.py"))
    nodes = [node for path in modules for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))]
    absolute = {alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    absolute |= {node.module for node in nodes if isinstance(node, ast.ImportFrom) and not node.level}
    assert "math" in absolute
    assert {name.split(".")[0] for name in absolute} <= sys.stdlib_module_names
