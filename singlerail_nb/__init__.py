"""Op-amp stages that run from one supply rail: design them, understand them, teach them.

A stage is described once, as a circuit; formulas, numbers, designs, pictures and documents are
derived from that description.  Names load on first use, so importing the package is cheap.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from .version import __version__ as __version__

if TYPE_CHECKING:
    from .analysis.capacitors import capacitor_desk
    from .analysis.common_mode import common_mode
    from .analysis.crosstalk import crosstalk
    from .analysis.noise import noise
    from .analysis.operating_point import OperatingPoint, operating_point
    from .analysis.stability import loop_gain
    from .analysis.stage import Stage, stage
    from .analysis.startup import startup
    from .analysis.supply_loop import supply_loop
    from .analysis.supply_rejection import supply_rejection
    from .analysis.textbook import textbook
    from .analysis.tolerance import monte_carlo, tolerance_report, worst_case
    from .analysis.transfer import Transfer
    from .analysis.window import window
    from .cautions import cautions_for
    from .circuit.opamp import OpAmp
    from .circuit.opamp_library import load_opamps, opamp, opamps
    from .circuit.stages import stages
    from .circuit.supplies import supply_rail
    from .designing.bias_comparison import bias_comparison
    from .designing.bias_conditions import BiasConditions
    from .designing.bias_recommendation import BiasLimits, recommend
    from .designing.changes import explain_change
    from .designing.design_file import load_design, save_design
    from .designing.guarantee import guarantee
    from .designing.level_shift import level_shift
    from .designing.parts_list import parts_list
    from .designing.requirements import Requirements
    from .designing.selection import select
    from .designing.stock import Stock
    from .designing.synthesis import Design, design
    from .documents.glossary import glossary
    from .documents.keys import answer_key
    from .documents.marking import mark
    from .documents.rationale import rationale
    from .documents.reissue import rationale_difference
    from .documents.variants import class_set, handout
    from .errors import SingleRailError
    from .fault_finding.catalogue import faults
    from .fault_finding.mysteries import mystery
    from .fault_finding.symptoms import symptoms
    from .measurement.comparison import compare
    from .measurement.reading import read_measurement
    from .plots.circuit_picture import schematic
    from .plots.crosstalk import crosstalk_picture
    from .plots.level_shift import level_shift_picture
    from .plots.measurement import comparison_picture
    from .plots.noise import noise_picture
    from .plots.picture import Picture
    from .plots.response import bias_filter_picture, response_picture, sections_picture
    from .plots.supply_loop import supply_loop_picture
    from .plots.symptoms import symptom_picture
    from .plots.waveforms import riding_picture
    from .plots.window import window_picture
    from .widgets.fault_questions import ask_fault
    from .widgets.handout import write_live_handout
    from .widgets.panel import Panel, panel
    from .widgets.questions import ask_figure, ask_formula, ask_number

_HOMES = {
    "BiasConditions": "designing.bias_conditions",
    "BiasLimits": "designing.bias_recommendation",
    "Design": "designing.synthesis",
    "OpAmp": "circuit.opamp",
    "OperatingPoint": "analysis.operating_point",
    "Panel": "widgets.panel",
    "Picture": "plots.picture",
    "Requirements": "designing.requirements",
    "SingleRailError": "errors",
    "Stage": "analysis.stage",
    "Stock": "designing.stock",
    "Transfer": "analysis.transfer",
    "answer_key": "documents.keys",
    "ask_fault": "widgets.fault_questions",
    "ask_figure": "widgets.questions",
    "ask_formula": "widgets.questions",
    "ask_number": "widgets.questions",
    "bias_comparison": "designing.bias_comparison",
    "bias_filter_picture": "plots.response",
    "capacitor_desk": "analysis.capacitors",
    "cautions_for": "cautions",
    "class_set": "documents.variants",
    "common_mode": "analysis.common_mode",
    "compare": "measurement.comparison",
    "comparison_picture": "plots.measurement",
    "crosstalk": "analysis.crosstalk",
    "crosstalk_picture": "plots.crosstalk",
    "design": "designing.synthesis",
    "explain_change": "designing.changes",
    "faults": "fault_finding.catalogue",
    "glossary": "documents.glossary",
    "guarantee": "designing.guarantee",
    "handout": "documents.variants",
    "level_shift": "designing.level_shift",
    "level_shift_picture": "plots.level_shift",
    "load_design": "designing.design_file",
    "load_opamps": "circuit.opamp_library",
    "loop_gain": "analysis.stability",
    "mark": "documents.marking",
    "monte_carlo": "analysis.tolerance",
    "mystery": "fault_finding.mysteries",
    "noise": "analysis.noise",
    "noise_picture": "plots.noise",
    "opamp": "circuit.opamp_library",
    "opamps": "circuit.opamp_library",
    "operating_point": "analysis.operating_point",
    "panel": "widgets.panel",
    "parts_list": "designing.parts_list",
    "rationale": "documents.rationale",
    "rationale_difference": "documents.reissue",
    "read_measurement": "measurement.reading",
    "recommend": "designing.bias_recommendation",
    "response_picture": "plots.response",
    "riding_picture": "plots.waveforms",
    "save_design": "designing.design_file",
    "schematic": "plots.circuit_picture",
    "sections_picture": "plots.response",
    "select": "designing.selection",
    "stage": "analysis.stage",
    "stages": "circuit.stages",
    "startup": "analysis.startup",
    "supply_loop": "analysis.supply_loop",
    "supply_loop_picture": "plots.supply_loop",
    "supply_rail": "circuit.supplies",
    "supply_rejection": "analysis.supply_rejection",
    "symptom_picture": "plots.symptoms",
    "symptoms": "fault_finding.symptoms",
    "textbook": "analysis.textbook",
    "tolerance_report": "analysis.tolerance",
    "window": "analysis.window",
    "window_picture": "plots.window",
    "worst_case": "analysis.tolerance",
    "write_live_handout": "widgets.handout",
}

__all__ = [
    "BiasConditions",
    "BiasLimits",
    "Design",
    "OpAmp",
    "OperatingPoint",
    "Panel",
    "Picture",
    "Requirements",
    "SingleRailError",
    "Stage",
    "Stock",
    "Transfer",
    "answer_key",
    "ask_fault",
    "ask_figure",
    "ask_formula",
    "ask_number",
    "bias_comparison",
    "bias_filter_picture",
    "capacitor_desk",
    "cautions_for",
    "class_set",
    "common_mode",
    "compare",
    "comparison_picture",
    "crosstalk",
    "crosstalk_picture",
    "design",
    "explain_change",
    "faults",
    "glossary",
    "guarantee",
    "handout",
    "level_shift",
    "level_shift_picture",
    "load_design",
    "load_opamps",
    "loop_gain",
    "mark",
    "monte_carlo",
    "mystery",
    "noise",
    "noise_picture",
    "opamp",
    "opamps",
    "operating_point",
    "panel",
    "parts_list",
    "rationale",
    "rationale_difference",
    "read_measurement",
    "recommend",
    "response_picture",
    "riding_picture",
    "save_design",
    "schematic",
    "sections_picture",
    "select",
    "stage",
    "stages",
    "startup",
    "supply_loop",
    "supply_loop_picture",
    "supply_rail",
    "supply_rejection",
    "symptom_picture",
    "symptoms",
    "textbook",
    "tolerance_report",
    "window",
    "window_picture",
    "worst_case",
    "write_live_handout",
]


def __getattr__(name: str) -> Any:
    """Load a public name on first use."""
    if name not in _HOMES:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    value = getattr(import_module(f".{_HOMES[name]}", __name__), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names, loaded or not, and nothing that the package itself needs."""
    own = {name for name in globals() if name.startswith("__")}
    return sorted({*own, *__all__})
