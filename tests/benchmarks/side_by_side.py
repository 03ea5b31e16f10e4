"""Measure several ways in turns, so that a busy moment of the machine hits all of them.

Also the circuits that the benchmarks measure.
"""

import math
import time

import singlerail_nb as sr
from singlerail_nb.circuit.builder import CircuitBuilder
from singlerail_nb.circuit.elements import GROUND

VALUES = {
    "r_source": 220.0,
    "c_in": 220e-9,
    "r_bias": 47e3,
    "r_top": 33e3,
    "r_bottom": 33e3,
    "c_bias": 10e-6,
    "r_f": 39e3,
    "c_f": 100e-12,
    "r_g": 1e3,
    "c_g": 4.7e-6,
    "c_out": 4.7e-6,
    "r_load": 10e3,
}


def best_times(*calls, repetitions=30, inner=1):
    """Return the shortest time of each call in seconds, of several interleaved repetitions."""
    best = [math.inf] * len(calls)
    for _ in range(repetitions):
        for i, call in enumerate(calls):
            start = time.perf_counter()
            for _ in range(inner):
                call()
            best[i] = min(best[i], (time.perf_counter() - start) / inner)
    return best


def standard_stage(*, single_pole=True):
    """Return the non-inverting stage with every part present: twelve parts and an op-amp."""
    opamp = sr.OpAmp("invented", gbw=1e6, dc_gain=1e5, source="invented") if single_pole else None
    return sr.stage("noninverting", supply=9, opamp=opamp, **VALUES)


def large_circuit():
    """Return the same stage with series resistances, input and load capacitances: 21 parts and an op-amp."""
    circuit = CircuitBuilder("large", ("signal", "plus", "amp_out", "output"))
    circuit.resistor("r_source", "signal", "source", "Source resistance")
    circuit.capacitor("c_source", "source", GROUND, "Capacitance of the source")
    circuit.capacitor("c_in", "coupled", "source", "Input coupling capacitor")
    circuit.resistor("r_c_in", "coupled", "plus", "Its series resistance")
    circuit.resistor("r_bias", "bias", "plus", "Bias resistor")
    circuit.resistor("r_top", "supply", "bias", "Divider, upper resistor")
    circuit.resistor("r_bottom", "bias", GROUND, "Divider, lower resistor")
    circuit.capacitor("c_bias", "bias", "bias_far", "Bias-filter capacitor")
    circuit.resistor("r_c_bias", "bias_far", GROUND, "Its series resistance")
    circuit.capacitor("c_plus", "plus", GROUND, "Capacitance of the + input")
    circuit.capacitor("c_minus", "minus", GROUND, "Capacitance of the - input")
    circuit.capacitor("c_between", "plus", "minus", "Capacitance between the inputs")
    circuit.opamp("plus", "minus", "amp_out")
    circuit.resistor("r_f", "amp_out", "minus", "Feedback resistor")
    circuit.capacitor("c_f", "amp_out", "minus", "Feedback capacitor")
    circuit.resistor("r_g", "minus", "leg", "Gain-leg resistor")
    circuit.capacitor("c_g", "leg", "leg_far", "Gain-leg capacitor")
    circuit.resistor("r_c_g", "leg_far", GROUND, "Its series resistance")
    circuit.capacitor("c_out", "amp_out", "out_far", "Output coupling capacitor")
    circuit.resistor("r_c_out", "out_far", "output", "Its series resistance")
    circuit.resistor("r_load", "output", GROUND, "Load resistance")
    circuit.capacitor("c_load", "output", GROUND, "Load capacitance")
    return circuit.build()
