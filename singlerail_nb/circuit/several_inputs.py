"""What a derivation says about sources other than the signal: further inputs, and a reference."""

from __future__ import annotations

import sympy

from .circuit import Circuit
from .derivation_steps import DerivationStep, Equation, Identity
from .elements import Source
from .network_functions import transfer_function
from .symbols import S


def with_quiet_sources(circuit: Circuit) -> Circuit:
    """Return the circuit with every source but the signal at 0 V: for the signal it is ground.

    Parameters
    ----------
    circuit : Circuit
        Any circuit.
    """
    return circuit.silenced(*(source.name for source in circuit.sources if source.name != "signal"))


def further_sources(circuit: Circuit) -> tuple[Source, ...]:
    """Return the signal sources after the first: ``signal_2``, ``signal_3`` ...

    Parameters
    ----------
    circuit : Circuit
        Any circuit.
    """
    return tuple(s for s in circuit.sources if s.kind == "driven" and s.name not in ("signal", "supply"))


def further_inputs(circuit: Circuit) -> tuple[Equation, ...]:
    """Return the transfer of every further signal source to the output.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit.
    """
    end = circuit.path[-1]
    return tuple(
        Equation(
            f"H_{{{source.name.rpartition('_')[2]}}}(s)",
            transfer_function(circuit, source.name, end).expression,
            "V/V",
        )
        for source in further_sources(circuit)
    )


def has_line(circuit: Circuit) -> bool:
    """Return whether a reference without a mid-rail bias node sets the level at the output.

    Parameters
    ----------
    circuit : Circuit
        Any circuit.
    """
    return bool(circuit.level_sources) and not circuit.has_node("bias")


def line_step(circuit: Circuit) -> DerivationStep:
    """Return the step that states the straight line at rest: slope, and intercept per volt of reference.

    Parameters
    ----------
    circuit : Circuit
        Sound circuit with a reference.
    """
    at_rest = circuit.opened(*(part.name for part in circuit.capacitors))
    end = circuit.path[-1]
    names = {"m": "signal"} | {_share(source.name): source.name for source in circuit.level_sources}
    equations, identities = [], []
    for name, source in names.items():
        value = sympy.factor(transfer_function(at_rest, source, end).expression)
        limit = transfer_function(circuit, source, end).expression.subs(S, 0)
        equations.append(Equation(name, value, "V/V"))
        identities.append(Identity(f"the whole network at 0 Hz, driven by {source}", value, limit))
    return DerivationStep(
        "line",
        "The straight line",
        "Which slope and which intercept does the stage draw at rest?",
        "Vout = m Vin + b: each source is taken alone, and the capacitors carry no current.",
        tuple(equations),
        tuple(identities),
    )


def _share(source: str) -> str:
    return "b/V_{ref}" if source == "reference" else f"b/V_{{{source}}}"
