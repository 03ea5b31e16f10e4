"""The algebra of a design rationale, and every choice with its numbers."""

from __future__ import annotations

from collections.abc import Iterator

from ..circuit.typeset import sentence
from ..designing.synthesis import Design
from ..quantities import write_quantity
from .document import Block, Formula, Heading, Paragraph
from .wording import formulas_of


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
    if not made.steps:
        yield Paragraph(
            "The reasons are not recorded: these values are not what the synthesis makes of the requirements "
            "alone. They were changed by hand, or come from a file, which keeps values without reasons."
        )
    for choice in made.steps:
        yield Heading(sentence(f"{choice.symbol}: {choice.question}"), 3)
        yield Formula(choice.formula_latex, f"{choice.symbol} = {choice.formula}")
        yield Formula(choice.substituted_latex, choice.text)
        taken = write_quantity(choice.chosen, choice.unit)
        gives = sentence(f"({choice.rounding}), which gives {choice.recomputed}. {choice.reason}")
        yield Paragraph(f"Taken: **{taken}** {gives}")
        yield Paragraph(f"*Rejected:* {sentence(choice.rejected)} *Source:* {choice.source}.")
