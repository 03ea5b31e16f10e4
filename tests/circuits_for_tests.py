"""Every stage of the registry in every form, with random but plausible parts.

A stage that is added to the registry is tested the day it is listed: nothing here names one.
"""

import zlib
from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

import singlerail_nb as sr
from singlerail_nb.circuit.bias_sources import bias_circuit
from singlerail_nb.circuit.branches import branches
from singlerail_nb.circuit.checks import check_circuit
from singlerail_nb.circuit.elements import GROUND
from singlerail_nb.circuit.nodal_analysis import InputError
from singlerail_nb.circuit.stages import build_circuit, stage_type

PAIRS = tuple((name, bias) for name in sr.stages() for bias in stage_type(name).bias_sources)
"""Every stage with every bias source that it runs on."""
RANGES = {"resistor": (100.0, 1e6), "capacitor": (1e-9, 100e-6)}
RANGES_BY_NAME = {"c_f": (10e-12, 1e-9)}
GBW_RANGE, DC_GAIN_RANGE = (1e5, 1e7), (1e4, 1e6)


@dataclass(frozen=True)
class Case:
    """One form of one stage: which bias source, which parts are left out, which op-amp model."""

    name: str
    bias: str
    absent: tuple[str, ...]
    single_pole: bool

    def __str__(self):
        model = "single pole" if self.single_pole else "ideal"
        return ", ".join([self.name, self.bias, model, *(f"no {part}" for part in self.absent)])

    @property
    def circuit(self):
        """The circuit with every optional part present."""
        return build_circuit(self.name, self.bias)

    @property
    def has_bias(self):
        """Whether there is a mid-rail bias node."""
        return stage_type(self.name).uses_bias

    @property
    def parts(self):
        """The parts that have values in this case."""
        return [p for p in self.circuit.parts if p.name not in self.absent]

    @property
    def bounds(self):
        """Range of every number that a stage of this case needs."""
        numbers = {p.name: RANGES_BY_NAME.get(p.name, RANGES[p.kind]) for p in self.parts}
        return numbers | ({"gbw": GBW_RANGE, "dc_gain": DC_GAIN_RANGE} if self.single_pole else {})

    def stage(self, numbers, supply=9.0):
        """Return the stage with these numbers; Zeners and references sit a little below mid-rail."""
        opamp = None
        if self.single_pole:
            opamp = sr.OpAmp("invented", numbers["gbw"], numbers["dc_gain"], source="invented")
        values = {part.name: numbers[part.name] for part in self.parts}
        levels = {s.name: 0.4 * supply for s in self.circuit.sources if s.kind != "driven"}
        return sr.stage(self.name, supply=supply, opamp=opamp, bias=self.bias, **values, **levels)


def _optional_parts(name, bias):
    return tuple(p.name for p in build_circuit(name, bias).parts if p.when_absent != "required")


def _forms(optional):
    """Yield which parts to leave out: none, each one alone, all but each one, all."""
    alone = [(part,) for part in optional]
    but_one = [tuple(p for p in optional if p != part) for part in optional]
    yield from dict.fromkeys([(), *alone, *but_one, optional])


def _sound(case):
    """Tell whether a form has findings only where the stage is wrong on purpose."""
    gone = {p.name: p.when_absent for p in case.circuit.parts if p.name in case.absent}
    circuit = case.circuit.opened(*(n for n, how in gone.items() if how == "open"))
    circuit = circuit.shorted(*(n for n, how in gone.items() if how == "short"))
    return all(finding.node in stage_type(case.name).fault_nodes for finding in check_circuit(circuit))


def _every_case():
    """Yield the cases: each stage in all forms with its usual bias source, and in full with every other.

    The first stage, stripped of its own optional parts, shows every bias source in all forms of that
    source: what a stage leaves out and what a bias source leaves out have nothing to do with each other.
    """
    first = sr.stages()[0]
    for name, bias in PAIRS:
        yield Case(name, bias, (), single_pole=True)
        optional = _optional_parts(name, bias)
        if bias == stage_type(name).usual_bias:
            forms = list(_forms(optional))
        elif name == first:
            own = tuple(p for p in optional if p in bias_circuit(bias).part_names)
            of_the_stage = tuple(p for p in optional if p not in own)
            forms = [(*absent, *of_the_stage) for absent in _forms(own)]
        else:
            forms = []
        for i, absent in enumerate(forms):
            yield Case(name, bias, absent, single_pole=bool(i % 2))


CASES = tuple(case for case in dict.fromkeys(_every_case()) if _sound(case))
FULL_CASES = tuple(case for case in CASES if not case.absent)
"""Every stage with every bias source, all optional parts present."""


def random_stage(case, seed=0):
    """Return a stage with log-uniform values that depend on the case and the seed only."""
    rng = np.random.default_rng([zlib.crc32(str(case).encode()), seed])
    numbers = {name: float(np.exp(rng.uniform(*np.log(b)))) for name, b in case.bounds.items()}
    return case.stage(numbers)


@st.composite
def stages(draw, cases=CASES):
    """Draw a stage: any of the cases, every value log-uniform in its range."""
    case = draw(st.sampled_from(cases))
    numbers = {}
    for name, (low, high) in case.bounds.items():
        numbers[name] = low * (high / low) ** draw(st.floats(0.0, 1.0))
    return case.stage(numbers)


def coupled_nodes(circuit):
    """Return the nodes that resistors join to the signal source: only ``source`` behind a capacitor."""
    driven = {GROUND, *(s.name for s in circuit.sources), *(o.output for o in circuit.opamps)}
    reached, new = set(), {"signal"}
    while new - reached:
        reached |= new
        edges = [
            part.nodes for part in circuit.resistors if set(part.nodes) & (reached - driven | {"signal"})
        ]
        new = {node for edge in edges for node in edge}
    return reached - {"signal"}


def works_back(circuit):
    """Return whether an op-amp output drives the middle of a branch, so that poles may be complex."""
    outputs = {opamp.output for opamp in circuit.opamps}
    return any(set(branch.ends) & outputs and len(branch.ends) > 2 for branch in branches(circuit))


def excitations(stage):
    """Return (what the package takes, what the referee takes) for every kind of excitation."""
    pairs = [(source.name, {"source": source.name}) for source in stage.circuit.sources]
    pairs += [(InputError(opamp.name), {"error_of": opamp.name}) for opamp in stage.circuit.opamps]
    return pairs
