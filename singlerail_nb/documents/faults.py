"""What each part does to a stage when it fails open or short: symptoms at the output."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..analysis.stage import Stage
from ..errors import CircuitError, QuantityError
from ..fault_finding.board import AMPLIFIER, Board
from ..fault_finding.catalogue import Fault, faults
from ..quantities import write_quantity

_MOVED = 0.01


@dataclass(frozen=True)
class FailedPart:
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


def fault_table(stage: Stage) -> tuple[FailedPart, ...]:
    """Return the symptom of every part failed open and short, alone, part by part.

    Parameters
    ----------
    stage : Stage
        The healthy stage.
    """
    order = {name: place for place, name in enumerate(stage.circuit.part_names)}
    found = sorted(faults(stage, "open", "short"), key=lambda fault: order[fault.part])
    return tuple(FailedPart(fault.part, fault.kind, _symptom(stage, fault)) for fault in found)


def _symptom(stage: Stage, fault: Fault) -> str:
    try:
        board = fault.on(stage)
    except CircuitError:
        return "shorts the rail or an output: current is not limited"
    if board.loose_inputs:
        return "an op-amp input floats: the output drifts to a rail"
    try:
        rest = board.rest()
        whole = board.transfer("signal", "output")
        gain, cutoff = whole.midband_gain(), whole.low_cutoff()
    except (CircuitError, QuantityError):
        return "no stable operating point: the output goes to a rail"
    place = [pins.name for pins in board.circuit.opamps].index(AMPLIFIER)
    state = rest.states[0][place]
    if state != "loop":
        return f"the output sits at {'the rail' if state == 'high' else 'ground'}"
    return _in_words(stage, _rests(board), gain, cutoff)


def _rests(board: Board) -> float:
    return float(board.rest().voltage(board.circuit.opamp(AMPLIFIER).output)[0])


def _in_words(stage: Stage, rest: float, gain: float, cutoff: float) -> str:
    healthy = stage.transfer("signal", "output")
    words = []
    if abs(rest - _rests(Board.of(stage))) > _MOVED * stage.supply:
        words.append(f"output rests at {write_quantity(rest, 'V', 3)}")
    if math.isinf(gain):
        return ", ".join([*words, "gain rises without end: only the op-amp itself limits it"])
    if gain < _MOVED * healthy.midband_gain():
        words.append("no signal")
    elif abs(gain / healthy.midband_gain() - 1.0) > _MOVED:
        words.append(f"gain {write_quantity(gain, 'V/V', 3)}")
    if gain >= _MOVED * healthy.midband_gain() and not math.isclose(
        cutoff, healthy.low_cutoff(), rel_tol=_MOVED, abs_tol=1e-9
    ):
        words.append(f"low-end cut-off {write_quantity(cutoff, 'Hz', 3)}")
    return ", ".join(words) or "hardly seen at the output"
