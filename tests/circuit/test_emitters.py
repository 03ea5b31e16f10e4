"""One program, two languages: the NumPy text and the JavaScript text give the same numbers."""

import json
import subprocess

import numpy as np
import pytest

from singlerail_nb.analysis.evaluation import compiled
from singlerail_nb.circuit.emit_javascript import emit_javascript
from singlerail_nb.circuit.emit_numpy import emit_numpy
from singlerail_nb.circuit.network_functions import functions_program
from singlerail_nb.circuit.program import write_program
from tests.circuits_for_tests import CASES, random_stage

RUN = """
const jobs = JSON.parse(require("fs").readFileSync(0, "utf8"));
const results = jobs.map(({ text, values }) => {
  const program = eval(text);
  return { inputs: program.inputs, outputs: program.outputs, numbers: program.coefficients(values) };
});
process.stdout.write(JSON.stringify(results));
"""


def run_javascript(node, jobs):
    """Return what node computes from a list of {"text": program, "values": numbers}."""
    done = subprocess.run(
        [node, "-e", RUN], input=json.dumps(jobs), capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def functions_of(stage):
    """Return the network functions of a stage, as a panel would ask for them."""
    asked = [stage.transfer(source.name, "output") for source in stage.circuit.sources]
    asked.append(stage.transfer("signal", "amp_out"))
    return tuple(transfer.function for transfer in asked)


def test_numpy_text_by_hand():
    program = write_program([[{(1, 1): 1}, {(0, 1): 1}], [{(1, 0): 2}]], ("r_a", "c_b"), frozenset({"r_a"}))
    assert emit_numpy(program, "two") == (
        "def two(r_a, c_b):\n"
        "    t0 = 1.0 / r_a\n"
        "    t1 = c_b * t0\n"
        "    t2 = 2 * t0\n"
        "    return ((t1, c_b,), (t2,),)\n"
    )


def test_javascript_text_by_hand():
    program = write_program([[{(1, 1): 1}, {(0, 1): 1}], [{(1, 0): 2}]], ("r_a", "c_b"), frozenset({"r_a"}))
    text = emit_javascript(program, ["ratio"])
    assert 'inputs: ["r_a", "c_b"]' in text
    assert 'outputs: ["ratio"]' in text
    assert "const t0 = 1 / r_a;" in text
    assert "return [[[t1, c_b], [t2]]];" in text


def test_every_network_function_needs_a_name():
    program = write_program([[{(1,): 1}], [{(0,): 1}]], ("r_a",), frozenset({"r_a"}))
    with pytest.raises(ValueError, match="2 names for 1 network functions"):
        emit_javascript(program, ["one", "two"])


def test_javascript_equals_numpy_for_every_stage(node):
    """Both languages do the same steps in double precision, so 1e-12 is generous."""
    stages = [random_stage(case, seed=3) for case in CASES]
    jobs, expected, names = [], [], []
    for stage in stages:
        functions = functions_of(stage)
        names.append([f"output_{i}" for i in range(len(functions))])
        text = emit_javascript(functions_program(functions), names[-1])
        jobs.append({"text": text, "values": stage.parameters})
        expected.append(compiled(*functions)(stage.parameters))
    results = run_javascript(node, jobs)
    for case, result, numbers, own_names in zip(CASES, results, expected, names, strict=True):
        assert result["outputs"] == own_names
        halves = [half for pair in result["numbers"] for half in pair]
        for ours, theirs in zip(numbers, halves, strict=True):
            assert np.allclose(theirs, ours, rtol=1e-12, atol=0), case
