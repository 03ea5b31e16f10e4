"""Coverage-guided fuzzing of every parser for a bounded number of inputs, and what it has found so far.

Each parser runs in a process of its own, with a fixed seed: the same inputs every time.  To look further, run
`python -m tests.fuzzing NAME --runs -1 --seconds 600 --seed 7`.
"""

import importlib.util
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from singlerail_nb.quantities import read_quantity
from tests.fuzzing.targets import TARGETS, refusing, watched

ROOT = Path(__file__).resolve().parents[2]

FOUND = {
    "formula: a power with a huge denominator, which took all memory": b"54^41e-99",
    "edited_design: a source of 1e-300 ohm, for which no polynomial has roots": b"A!cf",
    "edited_design: a droop of 1e-300 dB, for which no pole is low enough": b"\xbfi",
    "design_file: a number of thousands of digits": b'{"schema": ' + b"1" * 5000 + b"}",
    "opamps: a number of thousands of digits": b"gbw = " + b"1" * 5000,
    "opamps: brackets nested too deep": b"a = " + b"[" * 5000,
    "opamps: bytes that are no text": b"\xff\xfe",
    "stock: bytes that are no text": b"kind,value\nresistor,4k7 \xff\n",
    "stock: a cell of 200,000 characters": b'kind,value\nresistor,"' + b"4" * 200_000 + b'"\n',
}
"""Inputs that were once a finding: "target: what it was" to bytes; some were found by reading."""


@pytest.mark.parametrize("name", TARGETS)
def test_no_text_leads_to_another_error(name):
    if importlib.util.find_spec("atheris") is None:
        pytest.skip("atheris (coverage-guided fuzzer) has no wheel for this Python and system")
    command = [sys.executable, "-m", "tests.fuzzing", name]
    environment = {**os.environ, "PYTHONHASHSEED": "0", "PYTHONPATH": str(ROOT)}
    result = subprocess.run(
        command,
        capture_output=True,
        text=True,
        errors="replace",
        cwd=ROOT,
        env=environment,
        timeout=600,
        check=False,
    )
    assert result.returncode == 0, result.stdout[-3000:] + result.stderr[-3000:]
    tried, learnt = (
        int(re.search(rf"stat::{fact}:\s+(\d+)", result.stderr)[1])
        for fact in ("number_of_executed_units", "new_units_added")
    )
    assert tried >= TARGETS[name].runs
    assert learnt > 5, "the fuzzer saw nothing of the package"


@pytest.mark.parametrize("name", TARGETS)
def test_the_seeds_are_read_or_refused(name):
    for raw in TARGETS[name].seeds:
        TARGETS[name].read(raw)


@pytest.mark.parametrize("name", FOUND)
def test_what_was_found_stays_mended(name):
    TARGETS[name.split(":")[0]].read(FOUND[name])


def test_a_finding_is_a_finding():
    def crash():
        return {}["no such key"]

    def nothing_to_do():
        raise TARGETS["quantity"].read.__globals__["SingleRailError"]("x", "1", allowed="2", remedy="")

    refusing([lambda: read_quantity("x", "V", name="a voltage")])
    with pytest.raises(KeyError):
        refusing([crash])
    with pytest.raises(AssertionError):
        refusing([nothing_to_do])


@pytest.mark.parametrize("text", ["eval('1 + 1')", "__import__('os').system('true')"])
def test_a_text_that_is_run_is_noticed(text):
    program = compile(text, "<a parser that evaluates>", "eval")
    with watched(), pytest.raises(AssertionError, match="ran something"):
        eval(program)  # noqa: S307 -- this is what must be noticed
