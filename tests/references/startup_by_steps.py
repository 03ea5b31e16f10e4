"""A non-inverting stage written down by hand as differential equations, for a step-by-step solver.

An independent route to start-up: other equations (the op-amp output is clipped in the right-hand
side) and another method (adaptive steps in time).
"""

from itertools import pairwise

import numpy as np
from scipy.integrate import solve_ivp


def capacitor_voltages(p, times, *, ramp_time, low, high, rtol=1e-10, method="LSODA"):
    """Return the voltages of c_in, c_bias, c_g and c_out, shape (4, times), and the output."""

    def rail(t):
        return p["supply"] * (min(t / ramp_time, 1.0) if ramp_time else 1.0)

    def currents(t, x):
        v_in, v_bias, v_g, v_out = x
        i_in = (v_bias - v_in) / (p["r_source"] + p["r_bias"])  # from bias through c_in to the source
        plus = v_bias - i_in * p["r_bias"]
        lowest = min(low, rail(t))
        highest = max(rail(t) - high, lowest)
        wanted = plus + p["r_f"] * (plus - v_g) / p["r_g"]
        amp_out = min(max(wanted, lowest), highest)
        i_g = (amp_out - v_g) / (p["r_f"] + p["r_g"]) if amp_out != wanted else (plus - v_g) / p["r_g"]
        i_bias = (rail(t) - v_bias) / p["r_top"] - v_bias / p["r_bottom"] - i_in
        return amp_out, (i_in, i_bias, i_g, (amp_out - v_out) / p["r_load"])

    capacitances = np.array([p["c_in"], p["c_bias"], p["c_g"], p["c_out"]])
    edges = [0.0, ramp_time, times[-1]] if ramp_time else [0.0, times[-1]]
    x, pieces, outputs = np.zeros(4), [], []
    for start, end in pairwise(edges):
        last = end == times[-1]
        inside = times[(times >= start) & ((times <= end) if last else (times < end))]
        solution = solve_ivp(
            lambda t, x: np.array(currents(t, x)[1]) / capacitances,
            (start, end), x, method=method, t_eval=np.unique([*inside, end]), rtol=rtol, atol=rtol,
        )  # fmt: skip
        assert solution.success
        kept = np.isin(solution.t, inside)
        pieces.append(solution.y[:, kept])
        outputs += [currents(t, y)[0] for t, y in zip(solution.t[kept], solution.y.T[kept], strict=True)]
        x = solution.y[:, -1]
    return np.hstack(pieces), np.array(outputs)


GOLDEN = {
    "supply": 9.0, "r_source": 600.0, "c_in": 330e-9, "r_bias": 100e3, "r_top": 100e3, "r_bottom": 100e3,
    "c_bias": 10e-6, "r_f": 100e3, "r_g": 1e3, "c_g": 10e-6, "c_out": 10e-6, "r_load": 10e3,
}  # fmt: skip
"""Part values of the worked start-up of a stage with a gain of 101, computed by hand for this project."""
