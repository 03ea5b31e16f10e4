"""Print a straight-line program as a JavaScript expression: the same lines as in NumPy."""

from __future__ import annotations

import json
from collections.abc import Sequence

from .program import Line, Operand, Program

_SIGN = {"add": "+", "multiply": "*"}


def emit_javascript(program: Program, output_names: Sequence[str]) -> str:
    """Return the text of a JavaScript object with ``inputs``, ``outputs`` and ``coefficients(p)``.

    ``coefficients`` takes an object of part values in SI units and returns, for each output,
    ``[numerator, denominator]``: arrays of coefficients of s (rad/s) in ascending powers.

    Parameters
    ----------
    program : Program
        A program whose polynomials come in pairs: numerator, denominator.
    output_names : sequence of str
        Name of each pair.

    Raises
    ------
    ValueError
        If the number of names is not half the number of polynomials.
    """
    pairs = list(zip(program.outputs[::2], program.outputs[1::2], strict=True))
    if len(pairs) != len(output_names):
        message = f"{len(output_names)} names for {len(pairs)} network functions"
        raise ValueError(message)
    body = [f"const {name} = p[{json.dumps(name)}];" for name in program.inputs]
    body += [f"const {_assignment(line)};" for line in program.lines]
    result = ", ".join(f"[{_array(top)}, {_array(bottom)}]" for top, bottom in pairs)
    names, inputs = json.dumps(list(output_names)), json.dumps(list(program.inputs))
    lines = "\n".join(f"    {line}" for line in [*body, f"return [{result}];"])
    return f"({{\n  inputs: {inputs},\n  outputs: {names},\n  coefficients(p) {{\n{lines}\n  }},\n}})"


def _assignment(line: Line) -> str:
    if line.operation == "reciprocal":
        return f"{line.name} = 1 / {line.operands[0]}"
    one, other = line.operands
    return f"{line.name} = {one} {_SIGN[line.operation]} {other}"


def _array(operands: tuple[Operand, ...]) -> str:
    return f"[{', '.join(str(operand) for operand in operands)}]"
