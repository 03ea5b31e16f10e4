"""Print a straight-line program as Python source that works on floats and arrays alike."""

from __future__ import annotations

from .program import Line, Operand, Program

_SIGN = {"add": "+", "multiply": "*"}


def emit_numpy(program: Program, function_name: str = "coefficients") -> str:
    """Return the source of one function of the program's inputs, in their order.

    The function returns a tuple with one tuple of coefficients per polynomial.

    Parameters
    ----------
    program : Program
        What to print.
    function_name : str
        Name of the function.
    """
    lines = [f"def {function_name}({', '.join(program.inputs)}):"]
    lines += [f"    {_assignment(line)}" for line in program.lines]
    outputs = "".join(f"{_tuple(coefficients)}, " for coefficients in program.outputs)
    lines.append(f"    return ({outputs.rstrip()})")
    return "\n".join(lines) + "\n"


def _assignment(line: Line) -> str:
    if line.operation == "reciprocal":
        return f"{line.name} = 1.0 / {line.operands[0]}"
    one, other = line.operands
    return f"{line.name} = {one} {_SIGN[line.operation]} {other}"


def _tuple(operands: tuple[Operand, ...]) -> str:
    return f"({', '.join(str(operand) for operand in operands)},)"
