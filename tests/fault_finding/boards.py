"""One sensible stage of every kind in the registry, for faults; the values are invented."""

from functools import cache

import singlerail_nb as sr
from singlerail_nb.circuit.stages import build_circuit, stage_type

VALUES = {
    "r_source": "1k", "r_bias": "100k", "r_top": "100k", "r_bottom": "100k", "c_bias": "10u", "r_f": "100k",
    "r_g": "10k", "c_g": "10u", "c_in": "1u", "c_out": "10u", "r_load": "10k", "c_f": "47p", "r_in": "10k",
}  # fmt: skip
OTHERS = {"resistor": "10k", "capacitor": "100n"}


def usual_value(part):
    """Return a value by what the part is for; a second channel takes that of the first."""
    name = part.name[:-2] if part.name[-2:] in ("_2", "_3", "_4") else part.name
    return VALUES.get(name, OTHERS[part.kind])


@cache
def board_stage(name, *, bias=None, opamp="GPB"):
    """Return a stage of the registry on 9 V with usual values."""
    circuit = build_circuit(name, bias)
    values = {part.name: usual_value(part) for part in circuit.parts}
    levels = {source.name: 4.7 if source.kind == "constant" else 4.5 for source in circuit.level_sources}
    record = None if opamp is None else sr.opamp(opamp)
    return sr.stage(name, supply=9, bias=bias, opamp=record, **values, **levels)


@cache
def pickup():
    """Return the contact pickup channel of the hive monitor: a gain of 40 on a 9 V battery."""
    return sr.stage(
        "noninverting", supply=9, opamp=sr.opamp("GPB"), r_source="220", c_in="220n", r_bias="47k",
        r_top="33k", r_bottom="33k", c_bias="10u", r_f="39k", r_g="1k", c_g="4u7", c_out="4u7", r_load="10k",
    )  # fmt: skip


NAMES = tuple(name for name in sr.stages() if not stage_type(name).lesson)
