"""Combined lower corner of two coupling poles against a published table.

Source: D. Terrell, Op Amps: Design, Application, and Troubleshooting, 2nd ed. (author and edition from
memory), sec. 2.7, table 2.5: factor k by which the overall -3 dB frequency of two coupling poles lies
above the higher of them, for the ratio of the two.  The equations of that page were not read; the
exact value is the half-power point of the two poles.
"""

import math

import numpy as np
import pytest

from singlerail_nb.analysis.stage import Stage

TABLE = (
    1.554, 1.485, 1.427, 1.380, 1.340, 1.306, 1.277, 1.252, 1.230, 1.211,
    1.194, 1.790, 1.166, 1.154, 1.143, 1.134, 1.125, 1.117, 1.110, 1.103,
    1.097, 1.092, 1.087, 1.082, 1.078, 1.074, 1.070, 1.066, 1.063, 1.060,
    1.058, 1.055, 1.053, 1.050, 1.048, 1.046, 1.044, 1.042, 1.041, 1.039,
)  # fmt: skip
RATIOS = tuple(round(1.0 + 0.1 * i, 1) for i in range(40))
MISPRINTED = 2.1
HIGHER, R_BIAS, R_LOAD = 30.0, 100e3, 10e3


def factor(ratio):
    """Return k of a follower whose input and output coupling have the two poles."""
    parts = {
        "r_source": 0.0, "r_bias": R_BIAS, "c_in": 1 / (2 * math.pi * R_BIAS * HIGHER),
        "r_top": 100e3, "r_bottom": 100e3, "c_bias": 1e9,
        "r_load": R_LOAD, "c_out": ratio / (2 * math.pi * R_LOAD * HIGHER),
    }  # fmt: skip
    return Stage("follower", 9.0, parts).transfer("signal", "output").low_cutoff() / HIGHER


@pytest.mark.parametrize(("ratio", "printed"), list(zip(RATIOS, TABLE, strict=True)))
def test_every_entry_but_the_misprint(ratio, printed):
    if ratio == MISPRINTED:
        # Printed 1.790 between 1.194 and 1.166; digits exchanged for 1.179.
        assert abs(factor(ratio) - printed) > 0.6
        assert factor(ratio) == pytest.approx(1.179, abs=1.3e-3)
    else:
        assert factor(ratio) == pytest.approx(printed, abs=1.3e-3)


def test_the_exact_factor_in_closed_form():
    for ratio in (*RATIOS, 10.0, 100.0):
        a = ratio**-2
        k = math.sqrt(((1 + a) + math.sqrt((1 + a) ** 2 + 4 * a)) / 2)
        assert factor(ratio) == pytest.approx(k, rel=1e-9)
    # The table ends at ratio 10 with 1.000, which is rounded away: 1.0099.
    assert factor(10.0) == pytest.approx(1.0099, abs=5e-5)


def test_the_factor_falls_steadily_where_the_table_does_not():
    exact = [factor(ratio) for ratio in RATIOS]
    assert np.all(np.diff(exact) < 0)
    assert not np.all(np.diff(TABLE) < 0)
