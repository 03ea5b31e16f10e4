"""Print one result of every kind with every digit: python tests/same_results.py.

`test_same_results.py` runs this with different orders of Python's sets and compares the texts; run it by hand
under two versions of Python to compare those.
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

import numpy as np

import singlerail_nb as sr
from singlerail_nb.circuit.stages import build_circuit
from singlerail_nb.designing.design_document import design_document
from singlerail_nb.measurement.reading import read_measurement

if TYPE_CHECKING:
    from collections.abc import Iterator

    from singlerail_nb.documents.paper import Paper

NEED = sr.Requirements(
    supply="9 V", supply_min="6 V", supply_max="9.6 V", gain=40, low_cutoff="60 Hz", input_impedance="30k",
    source_resistance="220R", load="10k", output_swing="1 Vpp", opamp=sr.opamp("GPB"),
)  # fmt: skip


def digits(numbers: object) -> str:
    """Write numbers with every digit; of many, also their sum."""
    array = np.atleast_1d(np.asarray(numbers, dtype=np.float64))
    return f"{array.size}: {[float(x).hex() for x in (*array[:20], array.sum())]}"


def lines() -> Iterator[str]:
    """Yield a title and a text for each kind of result."""
    design = sr.design(NEED)
    stage = design.stage
    yield "design", f"{design}\n{[str(step) for step in design.steps]}"
    yield "design file", json.dumps(design_document(stage, NEED))
    yield "circuits", "\n".join(repr(build_circuit(name)) for name in sr.stages())
    yield "derivation", f"{stage.derivation()!r}"
    for name in ("signal", "supply"):
        transfer = stage.transfer(name, "output")
        yield f"{name} to output", f"{transfer.expr}\n{transfer.latex()}\n{digits(transfer.poles().real)}"
    yield "selection", f"{sr.select(NEED, stock=sr.Stock.of('E12', 'E6'))}"
    yield "Monte Carlo", digits(sr.monte_carlo(stage, boards=2000, tolerance=0.05, seed=3).low_cutoff)
    yield "worst case", f"{sr.worst_case(stage, 0.05).low_cutoff}"
    yield "noise", digits(sr.noise(stage).density([20.0, 1e3, 2e4], "output"))
    yield "start-up", digits(sr.startup(stage, low=0.65, high=1.4).times)
    for seed in (1, 2):
        sheet = sr.handout("whole stage", seed=seed)
        yield f"handout {seed}", written(sheet.document)
        yield f"key {seed}", written(sr.answer_key(sheet))
    yield "rationale", written(sr.rationale(design))
    yield "measurement", read_measurement("f Hz;gain dB;x\n10;1,5;a\n20;2,5;b\n;;\n").text


def written(paper: Paper) -> str:
    """Return a document as text, and a fingerprint of its page with all pictures."""
    return f"{paper.markdown}\n{hashlib.sha256(paper.html.encode()).hexdigest()}"


if __name__ == "__main__":
    for title, text in lines():
        print(f"== {title}\n{text}")
