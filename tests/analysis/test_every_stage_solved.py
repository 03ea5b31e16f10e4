"""Every stage in every form against an independent solution of its circuit.

Nothing here names a stage: what is registered is tested.
"""

import numpy as np
import pytest

import singlerail_nb as sr
from singlerail_nb.analysis.evaluation import compiled, responses
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.nodal_analysis import Injection
from singlerail_nb.errors import CircuitError
from tests.circuits_for_tests import CASES, FULL_CASES, coupled_nodes, excitations, random_stage
from tests.referee import AT_REST, solve_mpmath, solve_numpy

FREQUENCIES = np.geomspace(0.1, 100e6, 37)


@pytest.fixture(scope="module", params=CASES, ids=str)
def case(request):
    return request.param


@pytest.fixture(scope="module")
def stage(case):
    return random_stage(case)


@pytest.fixture(scope="module")
def respond(case, stage):
    """Return a function of frequencies that gives {excitation: {node: array}}, all in one pass."""
    asked = [(ours, node) for ours, _ in excitations(stage) for node in case.circuit.nodes]
    program = compiled(*(stage.transfer(*pair).function for pair in asked))

    def found(f):
        rows = dict(zip(asked, responses(program, stage.parameters, np.array(f)), strict=True))
        return {ours: {n: rows[ours, n] for n in case.circuit.nodes} for ours, _ in excitations(stage)}

    return found


@pytest.fixture(scope="module")
def volts(respond):
    return respond(FREQUENCIES)


def test_every_node_equals_the_numeric_solution(stage, volts):
    """NumPy's own error is some 1e-11 of the largest voltage of the network."""
    for ours, theirs in excitations(stage):
        solved = solve_numpy(stage, FREQUENCIES, **theirs)
        largest = np.max(np.abs([solved[node] for node in volts[ours]]), axis=0)
        for node, found in volts[ours].items():
            error = np.abs(found - solved[node])
            assert np.all(error <= 1e-9 * np.abs(solved[node]) + 1e-11 * largest), (ours, node)


def test_every_node_equals_fifty_digits(case, stage, respond):
    """The package's own error stays below 1e-12 relative, also where the numeric solver loses digits."""
    asked = excitations(stage)
    for f in (0.1, 1e5, 1e8) if case in FULL_CASES[::5] else (1e2,):
        volts = respond([f])
        solved = solve_mpmath(stage, f, [theirs for _, theirs in asked])
        for (ours, _), exact in zip(asked, solved, strict=True):
            for node, found in volts[ours].items():
                error = abs(complex(found[0]) - complex(exact[node]))
                assert error <= 1e-12 * abs(exact[node]), (ours, node, f)
            one = stage.transfer(ours, "output")(f)
            assert abs(one - complex(exact["output"])) <= 1e-12 * abs(exact["output"]), (ours, f)


def test_a_current_into_a_node_equals_fifty_digits(case, stage):
    nodes = ("bias", "minus", "amp_out", "output") if case in FULL_CASES else ("bias", "minus")
    nodes = [node for node in nodes if node in case.circuit.nodes]
    solved = solve_mpmath(stage, 1e3, [{"into": node} for node in nodes])
    for into, exact in zip(nodes, solved, strict=True):
        for node in nodes:
            error = abs(stage.transfer(Injection(into), node)(1e3) - complex(exact[node]))
            assert error <= 1e-12 * abs(exact[node]), (into, node)


def test_currents_balance_at_every_node(stage, volts):
    """Kirchhoff: what flows into a node that nothing drives flows out of it."""
    circuit = stage.circuit
    driven = {source.name for source in circuit.sources} | {opamp.output for opamp in circuit.opamps}
    s = 2j * np.pi * FREQUENCIES
    for found in volts.values():
        known = {**found, GROUND: np.zeros_like(s)}
        for node in set(circuit.nodes) - driven:
            total, moved = np.zeros_like(s), np.zeros(s.shape)
            for part in circuit.parts:
                if node in part.nodes:
                    far = part.nodes[1] if part.nodes[0] == node else part.nodes[0]
                    value = stage.values[part.name]
                    admittance = 1 / value if part.kind == "resistor" else s * value
                    total = total + (known[node] - known[far]) * admittance
                    moved = moved + (np.abs(known[node]) + np.abs(known[far])) * np.abs(admittance)
            assert np.all(np.abs(total) <= 1e-12 * moved), node


def test_input_impedance_equals_voltage_over_current(stage):
    solved = solve_numpy(stage, FREQUENCIES, source="signal")
    current = solved["current of signal"]
    if np.max(np.abs(current)) < 1e-15:  # ampere per volt: nothing but rounding
        with pytest.raises(CircuitError, match=r"infinite.*give them a resistor"):
            stage.input_impedance()
        return
    # Of a current that is hardly there, the numeric solver knows few digits.
    known = np.abs(current) > 1e-3 * np.max(np.abs(current))
    expected = solved["source"][known] / current[known]
    assert np.allclose(stage.input_impedance()(FREQUENCIES)[known], expected, rtol=1e-7)


def test_resting_voltages_equal_the_limit_at_no_frequency(stage):
    point = sr.operating_point(stage)
    levels = {"supply": stage.supply, **stage.levels}
    solved = solve_mpmath(stage, AT_REST, [{"source": name} for name in levels])
    assert {finding.node for finding in stage.findings}.isdisjoint(point.voltages)
    assert {stage.circuit.node(n) for n in ("bias", "source") if stage.circuit.has_node(n)} <= set(
        point.voltages
    )
    for node in set(point.voltages) - {GROUND}:
        expected = sum(volts * found[node] for volts, found in zip(levels.values(), solved, strict=True))
        assert point.voltage(node) == pytest.approx(float(expected.real), rel=1e-12, abs=1e-12), node


def test_the_bias_rests_between_the_rails_and_coupling_capacitors_block_it(stage):
    point = sr.operating_point(stage)
    if stage.type.uses_bias:
        assert 0 < point.voltage("bias") < stage.supply
    if coupled_nodes(stage.circuit) <= {"source"}:
        assert point.voltage("source") == 0.0
    if "c_out" in stage.values:
        assert point.voltage("output") == 0.0
