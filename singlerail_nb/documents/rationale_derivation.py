"""The algebra of a design rationale, and every choice with its numbers."""

from __future__ import annotations

from collections.abc import Iterator

from ..circuit.typeset import sentence
from ..designing.bias_comparison import MODEL_PARTS
from ..designing.parts_list import NOT_BOUGHT
from ..designing.steps import DesignStep
from ..designing.synthesis import Design
from ..quantities import write_quantity
from .document import Block, Formula, Heading, Paragraph
from .wording import formulas_of, symbol


def derivation(made: Design) -> Iterator[Block]:
    """Yield the algebra of the stage.

    Parameters
    ----------
    made : Design
        The design.
    """
    yield Heading("Derivation")
    yield Paragraph(
        "Each step was compared, as algebra, with the network function of the whole circuit. The op-amp is "
        "ideal here; figures and worst case use its record."
    )
    for step in made.stage.derivation():
        yield Heading(step.title, 3)
        yield Paragraph(sentence(step.question))
        for equation in step.equations:
            yield from formulas_of(equation)
        yield Paragraph(sentence(step.remark))


def choices(made: Design) -> Iterator[Block]:
    """Yield every decision: formula, substituted numbers, part taken, what it gives, reason, rejected.

    Parameters
    ----------
    made : Design
        The design.
    """
    yield Heading("Choices")
    if unexplained(made):
        yield Paragraph(
            f"No reason is recorded for {', '.join(unexplained(made))}: these are not what the synthesis "
            "makes of the requirements alone. They were changed by hand, or come from a file, which keeps "
            "values without reasons."
        )
    for choice in _explained(made):
        yield Heading(sentence(f"{choice.symbol}: {choice.question}"), 3)
        yield Formula(choice.formula_latex, f"{choice.symbol} = {choice.formula}")
        yield Formula(choice.substituted_latex, choice.text)
        taken = write_quantity(choice.chosen, choice.unit)
        gives = sentence(f"({choice.rounding}), which gives {choice.recomputed}. {choice.reason}")
        yield Paragraph(f"Taken: **{taken}** {gives}")
        yield Paragraph(f"*Rejected:* {sentence(choice.rejected)} *Source:* {choice.source}.")


def _explained(made: Design) -> tuple[DesignStep, ...]:
    """Return the decisions that still stand: the part is there, with the value that was chosen."""
    return tuple(step for step in made.steps if made.stage.values.get(step.part) == step.chosen)


def unexplained(made: Design) -> tuple[str, ...]:
    """Return the symbols of the parts to buy whose value no decision explains.

    Parameters
    ----------
    made : Design
        The design.
    """
    known = {*NOT_BOUGHT, *MODEL_PARTS, *(step.part for step in _explained(made))}
    return tuple(symbol(name) for name in made.stage.values if name not in known)
