"""An independent meter and scope: plain nodal analysis of the broken board with numpy."""

import math

from singlerail_nb.circuit.elements import GROUND
from tests.networks import solved

METER = 10e6


def branches_of(board, node=None):
    """Return (node, node, admittance) of every part, and of a meter at a node."""
    found = []
    for part in board.circuit.parts:
        value = board.values[part.name]
        conduct = (lambda _, r=value: 1.0 / r) if part.kind == "resistor" else (lambda s, c=value: s * c)
        found.append((*part.nodes, conduct))
    if node is not None:
        found.append((board.circuit.node(node), GROUND, lambda _: 1.0 / METER))
    return found


def meter_reads(board, node):
    """Return the DC volts that a meter of 10 Mohm shows at a node of a board with one op-amp."""
    (pins,) = board.circuit.opamps
    sources = {s.name: 0.0 for s in board.circuit.sources} | {"supply": board.supply} | board.levels
    nodes = [n for n in board.circuit.nodes if n != GROUND]
    current = board.opamp.bias_current if board.opamp else 0.0
    inject = {pins.plus: -current}
    inject[pins.minus] = inject.get(pins.minus, 0.0) - current
    inverse = 1.0 / board.opamp.dc_gain if board.opamp else 0.0
    low, high = (float(end) for end in board.output_limits())

    def volts(held):
        given = sources if held is None else {**sources, pins.output: held}
        amplifier = (pins.plus, pins.minus, pins.output, lambda _: inverse)
        found = solved(nodes, branches_of(board, node), amplifier, 0.0, inject=inject, source=given)
        return {n: v.real for n, v in found.items()} | {GROUND: 0.0}

    free = volts(None)
    found = free if low <= free[pins.output] <= high else volts(high if free[pins.output] > high else low)
    return min(max(found[board.circuit.node(node)], 0.0), max(sources.values()))


def scope_shows(board, node, frequency, resistance=10e6, capacitance=15e-12):
    """Return the size of the signal at a node with a probe on it, V/V, the op-amp in its loop."""
    (pins,) = board.circuit.opamps
    sources = {s.name: 0.0 for s in board.circuit.sources} | {"signal": 1.0}
    probe = (board.circuit.node(node), GROUND, lambda s: 1.0 / resistance + s * capacitance)
    inverse, turn = 0.0, 0.0
    if board.opamp:
        inverse, turn = 1.0 / board.opamp.dc_gain, 1.0 / (2.0 * math.pi * board.opamp.gbw)
    found = solved(
        [n for n in board.circuit.nodes if n != GROUND], [*branches_of(board), probe],
        (pins.plus, pins.minus, pins.output, lambda s: inverse + s * turn), frequency, source=sources,
    )  # fmt: skip
    return abs(found[board.circuit.node(node)])
