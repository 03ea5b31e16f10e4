"""What each part does to a stage when it fails open or short: symptoms at the output."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..analysis.network import Network
from ..analysis.stage import Stage
from ..circuit.checks import check_circuit
from ..circuit.circuit import Circuit
from ..errors import CircuitError, QuantityError
from ..quantities import write_quantity

_MOVED = 0.01


@dataclass(frozen=True)
class Fault:
    """One failed part.

    Attributes
    ----------
    part : str
        Its name.
    state : "open" or "short"
        How it failed.
    symptom : str
        What the output does.
    """

    part: str
    state: str
    symptom: str


def fault_table(stage: Stage) -> tuple[Fault, ...]:
    """Return the symptom of every part failed open and short, alone.

    Parameters
    ----------
    stage : Stage
        The healthy stage.
    """
    found = []
    for part in stage.circuit.parts:
        found.append(Fault(part.name, "open", _symptom(stage, stage.circuit.opened(part.name))))
        try:
            shorted = stage.circuit.shorted(part.name)
        except CircuitError:
            found.append(Fault(part.name, "short", "shorts the rail or an output: current is not limited"))
        else:
            found.append(Fault(part.name, "short", _symptom(stage, shorted)))
    return tuple(found)


def _symptom(stage: Stage, circuit: Circuit) -> str:
    floating = [finding for finding in check_circuit(circuit) if finding.kind != "shorted source"]
    if any(finding.opamp_pin for finding in floating):
        return "an op-amp input floats: the output drifts to a rail"
    values = {part.name: stage.values[part.name] for part in circuit.parts}
    try:
        network = Network(circuit, values, stage.opamp, stage.supply)
        rest = stage.supply * network.transfer("supply", "amp_out")(0.0).real
        whole = network.transfer("signal", "output")
        gain, cutoff = whole.midband_gain(), whole.low_cutoff()
    except (CircuitError, QuantityError, KeyError):
        return "no stable operating point: the output goes to a rail"
    return _in_words(stage, rest, gain, cutoff)


def _in_words(stage: Stage, rest: float, gain: float, cutoff: float) -> str:
    healthy = stage.transfer("signal", "output")
    resting = stage.supply * stage.transfer("supply", "amp_out")(0.0).real
    if not 0.0 < rest < stage.supply:
        return f"the output sits at {'the rail' if rest > 0 else 'ground'}"
    words = []
    if abs(rest - resting) > _MOVED * stage.supply:
        words.append(f"output rests at {write_quantity(rest, 'V', 3)}")
    if gain < _MOVED * healthy.midband_gain():
        words.append("no signal")
    elif abs(gain / healthy.midband_gain() - 1.0) > _MOVED:
        words.append(f"gain {write_quantity(gain, 'V/V', 3)}")
    if gain >= _MOVED * healthy.midband_gain() and not math.isclose(
        cutoff, healthy.low_cutoff(), rel_tol=_MOVED, abs_tol=1e-9
    ):
        words.append(f"low-end cut-off {write_quantity(cutoff, 'Hz', 3)}")
    return ", ".join(words) or "hardly seen at the output"
