"""State equations: the same network as the transfer functions, by another route."""

import numpy as np
import pytest
from scipy.linalg import expm

import singlerail_nb as sr
from singlerail_nb.analysis.startup_segments import Outputs, Segment
from singlerail_nb.analysis.state_equations import NullSpaces, StateEquations
from singlerail_nb.analysis.state_space import HIGH, LOW, Mode, StateSpace
from tests.circuits_for_tests import CASES, random_stage


def loop_equations(stage):
    space = StateSpace(stage)
    mode = Mode(("loop",) * len(stage.circuit.opamps), (True,) * len(space.one_way))
    return space, space.equations(mode)


@pytest.mark.parametrize("case", CASES[::5], ids=str)
def test_states_give_the_network_functions(case):
    """C (s - A)^-1 (B + s E) + D + s F is the transfer, for every source and node."""
    stage = random_stage(case, seed=11)
    space, equations = loop_equations(stage)
    if stage.findings:
        return  # a node without DC path has no unique resting voltage, but rates all the same
    for source in stage.circuit.sources:
        k = space.inputs.index(source.name)
        for s in 2j * np.pi * np.array([0.3, 40.0, 5e3]):
            inside = np.linalg.solve(
                s * np.eye(len(equations.A)) - equations.A, (equations.B + s * equations.E)[:, k]
            )
            nodes = equations.C @ inside + equations.D[:, k] + s * equations.F[:, k]
            for node in [n for n in ("bias", "amp_out", "output") if stage.circuit.has_node(n)]:
                ours = nodes[space.index[stage.circuit.node(node)]]
                exact = stage.transfer(source.name, node)(s.imag / (2 * np.pi))
                assert ours == pytest.approx(exact, rel=1e-7, abs=1e-9)


HIVE = {
    "supply": 5, "r_source": "2k2", "c_in": "1u", "r_bias": "100k", "r_f": "10k", "r_g": "1k", "c_g": "22u",
}  # fmt: skip


def test_a_clamped_output_is_an_input():
    space = StateSpace(sr.stage("noninverting", r_top="100k", r_bottom="100k", c_bias="10u", **HIVE))
    out = space.index["amp_out"]
    for state, limit in (("low", LOW), ("high", HIGH)):
        equations = space.equations(Mode((state,), ()))
        expected = np.zeros(len(space.inputs))
        expected[space.inputs.index(limit)] = 1.0
        assert equations.D[out] == pytest.approx(expected, abs=1e-15)
        assert np.abs(equations.C[out]).max() == 0.0


def test_two_capacitors_on_one_node_are_one_state():
    """A follower without isolation resistor ties c_buffer to c_bias: charge settles the mismatch."""
    parts = {"r_top": "100k", "r_bottom": "100k", "c_bias": "10u", "c_buffer": "1u"}
    stage = sr.stage("noninverting", bias="buffered_divider", **HIVE, **parts)
    space = StateSpace(stage)
    equations = space.equations(Mode(("loop", "loop"), ()))
    assert equations.constraint_x.shape == (1, len(space.states))
    before = {"c_bias": 2.0, "c_buffer": 0.5}
    x = np.array([before.get(name, 0.0) for name in space.states])
    after = dict(zip(space.states, equations.entered(x, np.zeros(len(space.inputs))), strict=True))
    # The follower's output moves c_buffer to the tap; its input takes no charge from c_bias.
    assert after["c_bias"] == pytest.approx(2.0, rel=1e-12)
    assert after["c_buffer"] == pytest.approx(2.0, rel=1e-12)


def test_a_mode_without_a_solution_is_none():
    # The reference that does not conduct leaves the bias node of an inverting stage on its own.
    parts = {"r_source": 600, "c_in": "1u", "r_in": "10k", "r_f": "100k"}
    bias = {"bias": "source_only_reference", "reference": 2.5, "r_reference": 1}
    stage = sr.stage("inverting", supply=5, **bias, **parts)
    space = StateSpace(stage)
    assert space.equations(Mode(("loop",), (False,))) is None
    assert space.equations(Mode(("loop",), (True,))) is not None


def test_null_spaces_of_a_singular_matrix():
    matrix = np.array([[1.0, 2.0], [2.0, 4.0]])
    solved = NullSpaces.of(matrix)
    assert solved.left.shape == solved.right.shape == (2, 1)
    assert np.abs(matrix @ solved.right).max() < 1e-14
    assert np.abs(solved.left.T @ matrix).max() < 1e-14
    assert matrix @ solved.inverse @ matrix == pytest.approx(matrix, abs=1e-13)


@pytest.mark.parametrize("order", [2, 3])
def test_equal_time_constants_in_a_chain_are_solved(order):
    """A Jordan block has one eigenvector only; matrix exponentials do not mind."""
    A = -np.eye(order) + np.eye(order, k=-1)
    B, zero = np.zeros((order, 1)), np.zeros((order, 1))
    B[0] = 1.0
    none = np.zeros((0, order))
    equations = StateEquations(A, B, zero, np.eye(order), zero, zero, none, np.zeros((0, 1)), none.T, ())
    x = np.arange(1.0, order + 1)
    segment = Segment(0.0, np.inf, Mode((), ()), equations, x, np.array([2.0]), np.array([0.5]))
    # Inputs 2 + t/2 as two further states of a larger exponential.
    whole = np.zeros((order + 2, order + 2))
    whole[:order, :order] = A
    whole[0, order] = 1.0
    whole[order, order + 1] = 0.5
    for t in (0.01, 0.7, 5.0, 30.0):
        exact = (expm(whole * t) @ np.array([*x, 2.0, 1.0]))[:order]
        assert segment.states(np.array([t]))[0] == pytest.approx(exact, rel=1e-8, abs=1e-9)


def test_an_integrator_and_an_oscillator_are_solved():
    """Eigenvalues 0 and -1 +- 20j, with a rising input."""
    A = np.array([[0.0, 0.0, 0.0], [0.0, -1.0, 20.0], [0.0, -20.0, -1.0]])
    B, zero = np.ones((3, 1)), np.zeros((3, 1))
    none = np.zeros((0, 3))
    equations = StateEquations(A, B, zero, np.eye(3), zero, zero, none, np.zeros((0, 1)), none.T, ())
    segment = Segment(
        0.0, 3.0, Mode((), ()), equations, np.array([1.0, 2.0, 3.0]), np.array([0.3]), np.array([0.2])
    )
    whole = np.zeros((5, 5))
    whole[:3, :3] = A
    whole[:3, 3] = 1.0
    whole[3, 4] = 0.2
    for t in (1e-6, 0.05, 1.0, 3.0):
        exact = (expm(whole * t) @ np.array([1.0, 2.0, 3.0, 0.3, 1.0]))[:3]
        assert segment.states(np.array([t]))[0] == pytest.approx(exact, rel=1e-11)
        value = segment.function_of_time(_component(1))(t)
        assert value[0] == pytest.approx(exact[1], rel=1e-11)
        assert value[1] == pytest.approx(-exact[1] + 20 * exact[2] + 0.3 + 0.2 * t, rel=1e-10)
    # The grid follows every swing: at least 12 times per period.
    assert np.diff(segment.grid).max() <= 2 * np.pi / 20 / 12


def _component(k):
    c = np.zeros((1, 3))
    c[0, k] = 1.0
    return Outputs(c, np.zeros((1, 1)), np.zeros((1, 1)))
