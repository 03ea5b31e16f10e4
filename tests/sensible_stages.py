"""A few stages with sensible values: every topology, ideal and real op-amps, several bias sources."""

import singlerail_nb as sr
from singlerail_nb.circuit.opamp_library import opamp

COMMON = {"supply": 9, "r_source": "220", "c_in": "220n", "c_out": "4u7", "r_load": "10k"}
DIVIDER = {"r_top": "33k", "r_bottom": "33k", "c_bias": "10u"}


def noninverting(**changes):
    """Return the standard stage of the hive monitor: a gain of 40 for a contact pickup."""
    parts = {"r_bias": "47k", "r_f": "39k", "r_g": "1k", "c_g": "4u7"}
    return sr.stage("noninverting", **{**COMMON, **DIVIDER, **parts, **changes})


def inverting(**changes):
    """Return an inverting stage."""
    return sr.stage("inverting", **{**COMMON, **DIVIDER, "r_in": "10k", "r_f": "100k", **changes})


def follower(**changes):
    """Return a follower."""
    return sr.stage("follower", **{**COMMON, **DIVIDER, "r_bias": "100k", **changes})


ZENER = {
    "bias": "zener", "r_top": None, "r_bottom": None, "r_zener": "1k", "r_dynamic": "50", "r_filter": "10k",
    "zener": 4.7,
}  # fmt: skip

SENSIBLE = {
    "noninverting": noninverting(),
    "noninverting, GPB": noninverting(opamp=opamp("GPB")),
    "noninverting, Zener": noninverting(**ZENER),
    "inverting": inverting(),
    "inverting, PRC": inverting(opamp=opamp("PRC")),
    "follower": follower(),
    "follower, no load, JFT": follower(c_out=None, r_load=None, opamp=opamp("JFT")),
}
