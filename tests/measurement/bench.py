"""Invented bench data for the tests: a hive channel, boards with known parts, seeded noise."""

import numpy as np

import singlerail_nb as sr
from singlerail_nb.measurement.reading import read_measurement

TOLERANCE = {"capacitors": 0.2, "resistors": 0.01}


def channel(**changes):
    values = {
        "r_source": "2k2", "c_in": "220n", "r_bias": "47k", "r_top": "47k", "r_bottom": "47k",
        "c_bias": "4u7", "r_f": "36k", "r_g": "1k8", "c_g": "33u", "c_out": "4u7", "r_load": "10k",
    }  # fmt: skip
    return sr.stage("noninverting", supply=9, opamp=sr.opamp("GPB"), **values | changes)


def sweep(board, *, noise=0.0, seed=0, points=40, low=3.0, high=2e4, node="output"):
    """Return the text of an invented sweep: frequency and gain in dB, noise in dB (rms)."""
    f = np.geomspace(low, high, points)
    level = board.transfer("signal", node).magnitude_db(f)
    level = level + np.random.default_rng(seed).normal(0.0, noise, points)
    rows = zip(f.tolist(), level.tolist(), strict=True)
    return "f [Hz];gain [dB]\n" + "\n".join(f"{x!r};{y!r}" for x, y in rows)


def measured(board, **options):
    return read_measurement(sweep(board, **options))
