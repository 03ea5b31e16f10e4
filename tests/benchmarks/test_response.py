"""Curves that follow a slider: three network functions at 600 frequencies, values changed each time."""

import math

import numpy as np

from singlerail_nb.analysis.evaluation import compiled, responses
from singlerail_nb.circuit.nodal_analysis import InputError
from tests.benchmarks.side_by_side import best_times, standard_stage

FREQUENCIES = np.geomspace(1.0, 1e6, 600)


def by_hand(f, p):
    """Return signal, supply and input-error transfer as an engineer would type them, each term once."""
    s = 2j * math.pi * f
    share = p["r_bottom"] / (p["r_top"] + p["r_bottom"])
    bias_filter = 1 / (1 + s * (share * p["r_top"] * p["c_bias"]))
    z_bias = share * p["r_top"] * bias_filter
    z_source = p["r_source"] + 1 / (s * p["c_in"])
    below = p["r_bias"] + z_bias
    loop = (p["r_g"] + 1 / (s * p["c_g"])) * (1 / p["r_f"] + s * p["c_f"])
    gain = 1 / (loop / (1 + loop) + p["opamp_inverse_gain"] + s * p["opamp_unity_time"])
    load = s * (p["c_out"] * p["r_load"])
    gain = gain * (load / (1 + load))
    around = gain / (below + z_source)
    return below * around, (share * bias_filter) * z_source * around, gain


def test_response_is_as_fast_as_a_closed_form_by_hand(ratio):
    stage = standard_stage()
    functions = [stage.transfer(e, "output").function for e in ("signal", "supply", InputError("opamp"))]
    program = compiled(*functions)
    ours_values, their_values = dict(stage.parameters), dict(stage.parameters)
    assert np.allclose(
        responses(program, ours_values, FREQUENCIES), by_hand(FREQUENCIES, their_values), rtol=1e-12
    )

    def ours():
        ours_values["r_f"] *= 1.0001
        responses(program, ours_values, FREQUENCIES)

    def theirs():
        their_values["r_f"] *= 1.0001
        by_hand(FREQUENCIES, their_values)

    mine, hand = best_times(ours, theirs, repetitions=150, inner=10)
    ratio(
        f"response, 3 x 600 points ({mine * 1e6:.0f} us) / closed form by hand in NumPy",
        mine / hand,
        at_most=1.0,
    )
