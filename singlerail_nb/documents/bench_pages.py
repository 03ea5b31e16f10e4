"""The pages of a handout for the bench and after it: build, measure, explain, find faults, grading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..analysis.operating_point import operating_point
from ..quantities import write_quantity
from .document import Blank, Block, Heading, Items, Paragraph, Table
from .fault_page import AS_SOUND, FailedBoard, sound_board
from .goals import Goal
from .questions import Question
from .task import Task
from .wording import symbol


def build(task: Task) -> Iterator[Block]:
    """Yield the page that says how to build it.

    Parameters
    ----------
    task : Task
        The circuit.
    """
    yield Heading("Build")
    yield Items(tuple(_build_steps(task)), numbered=True)


def measure(task: Task, questions: Sequence[Question]) -> Iterator[Block]:
    """Yield the measurement table with its instructions.

    Parameters
    ----------
    task : Task
        The circuit.
    questions : sequence of Question
        Its rows.
    """
    lab = task.lab
    yield Heading("Measure")
    yield Paragraph(
        "Write your prediction into the table first. The allowed deviation is what part tolerances, the "
        "instrument's loading and its accuracy may do; more than that has a cause, and you find it. "
        f"Meter: {lab.meter.title}, {write_quantity(lab.meter.resistance, 'ohm')}. "
        f"Scope: {lab.scope.title}, {write_quantity(lab.scope.resistance, 'ohm')}."
    )
    yield Items(tuple(_instruction(question) for question in questions))
    yield Table(
        ("", "What", "With", "Predicted", "Allowed", "Measured", "Difference", "Comment"),
        tuple(_row(question) for question in questions),
    )


def _instruction(question: Question) -> str:
    setup = question.setup
    return f"**{question.id}** {question.text}: {setup.by} at {setup.node}. {question.filled(setup.how)}"


def _row(question: Question) -> tuple[str, ...]:
    low, high = (end / question.value - 1.0 for end in question.band)
    allowed = f"{low:+.0%} to {high:+.0%}"
    what = f"{question.text}, {question.ask.printed_unit}"
    return question.id, what, question.setup.by, "", allowed, "", "", ""


def _build_steps(task: Task) -> Iterator[str]:
    stage, point = task.stage, operating_point(task.stage)
    states = {state.name: state for state in point.capacitors}
    yield "Rail off. Fit the op-amp, its two supply pins and 100 nF directly across them."
    for part in stage.circuit.parts:
        one, other = (_place(task, node, part.name) for node in part.nodes)
        value = write_quantity(stage.values[part.name], part.unit)
        step = f"{symbol(part.name)} {value}, {part.label[0].lower()}{part.label[1:]}: from {one} to {other}"
        state = states.get(part.name)
        if state is not None and abs(state.voltage) > _POLAR:
            step += f", **+** side to {other if state.is_reversed else one}"
        yield f"{step}."
    yield "Compare with the drawing, part by part, then let your neighbour compare."
    yield f"Set the rail to {write_quantity(stage.supply, 'V')}, current limit 50 mA, and switch on."
    yield "Change a part only with the rail off and the capacitors discharged."


def _place(task: Task, node: str, part: str) -> str:
    """Return a node as it is called on the drawing; a joint that has no name there, by its other part."""
    circuit, amplifier = task.stage.circuit, task.stage.circuit.opamp("opamp")
    others = [p.name for p in circuit.parts if node in p.nodes and p.name != part]
    named = ("output", amplifier.plus, amplifier.minus, amplifier.output)
    if node == "supply":
        return "$V_S$"
    return node if node in named or len(others) != 1 else symbol(others[0])


_POLAR = 0.05
"""A capacitor with more than this across it has a + side, V."""


def explain(goal: Goal) -> Iterator[Block]:
    """Yield the prompts to explain what differs from the prediction.

    Parameters
    ----------
    goal : Goal
        With its prompts.
    """
    yield Heading("Explain the differences")
    first = (
        "Take the row with the largest difference. Is the cause tolerance, loading, an effect that the "
        "prediction leaves out, or a mistake? Prove it with a number."
    )
    prompts = (first, *goal.prompts)
    lines = 4 if len(prompts) <= _ROOMY else 3
    for number, prompt in enumerate(prompts, 1):
        yield Blank(f"E{number}", prompt, "", lines)


_ROOMY = 4
"""Prompts that fit on a page with four lines each."""


def find_faults(task: Task, found: Sequence[FailedBoard]) -> Iterator[Block]:
    """Yield the fault-finding page.

    Parameters
    ----------
    task : Task
        The sound circuit.
    found : sequence of FailedBoard
        The failed boards.
    """
    yield Heading("Fault finding")
    yield Paragraph(
        "A colleague's boards have your values and one failed part each. For each board name the part, what "
        "happened to it, and the one measurement that would prove it. A sound board is what you predicted."
    )
    ripple, line = write_quantity(task.lab.ripple, "Vpp"), write_quantity(task.lab.ripple_frequency, "Hz")
    sound = sound_board(task)
    yield Table(
        ("", "Bias node rests at", "Op-amp output rests at", "Output at 1 kHz", "Ripple at the output"),
        tuple((f"F{i}", *fault.cells_beside(sound)) for i, fault in enumerate(found, 1)),
        f"Source {write_quantity(task.amplitude, 'Vpp')} at 1 kHz; rail ripple {ripple} at {line}. "
        f"{AS_SOUND.capitalize()}: a sound board may show the same.",
    )
    for number in range(1, len(found) + 1):
        yield Blank(f"F{number}", "Failed part, and the proving measurement:", "", 1)


BY_HAND = (
    ("Critical evaluation", 6, "0: accepts a defective result; 6: finds and removes its cause"),
    ("Fault finding", 3, "part and proving measurement"),
    ("Safe work, good notes", 3, "another person could repeat it from your notes"),
)
"""What a person marks: name, points and how."""


def rubric(predictions: Sequence[Question], measurements: Sequence[Question]) -> Iterator[Block]:
    """Yield how the sheet is graded.

    Parameters
    ----------
    predictions, measurements : sequence of Question
        What earns points by numbers.
    """
    predicted = sum(q.ask.points for q in predictions)
    measured = sum(q.ask.points for q in measurements)
    by_hand = sum(points for _, points, _ in BY_HAND)
    rows = (
        ("Predictions", f"{predicted:g}", "with formula and unit, step by step; follow-on errors are free"),
        ("Measurements", f"{measured:g}", "inside the allowed deviation, or outside with a proven cause"),
        *((what, f"{points:g}", how) for what, points, how in BY_HAND),
        ("Together", f"{predicted + measured + by_hand:g}", "points of the whole lab"),
    )
    yield Heading("How this is graded")
    yield Table(("What", "Points", "How"), rows)
