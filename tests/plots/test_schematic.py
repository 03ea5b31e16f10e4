"""The picture is the circuit: for every registered stage in every form, read back from the SVG alone."""

import pytest

from singlerail_nb.plots.schematic import schematic_svg
from tests.circuits_for_tests import CASES, FULL_CASES, random_stage, works_back
from tests.plots.schematic_reader import Reader

FORMS = [(case, wire) for case in CASES for wire in (False, True)]


def drawn(case, *, wire=False, **options):
    """Return a stage of a case, its source resistance replaced by a wire if so, and its drawing."""
    stage = random_stage(case)
    stage = stage.with_parts(r_source=0.0) if wire else stage
    return stage, Reader(schematic_svg(stage, **options))


@pytest.mark.parametrize(("case", "wire"), FORMS, ids=[f"{c}{', no r_source' * w}" for c, w in FORMS])
def test_picture_is_the_circuit(case, wire):
    stage, picture = drawn(case, wire=wire)
    circuit = stage.circuit
    symbols = [shape.name for shape in picture.shapes if shape.kind.split("_")[0] not in ("ground", "supply")]
    sources = [s.name for s in circuit.sources if s.kind != "constant" and s.name != "supply"]
    terminal = {circuit.node(name) for name in case.circuit.nodes if name.startswith("output")}
    opamps = [o.name for o in circuit.opamps]
    assert sorted(symbols) == sorted([*circuit.part_names, *sources, *opamps, *terminal])
    assert picture.nodes(circuit) == []
    assert picture.dot_faults() == []
    assert picture.overlaps() == []
    values = [words.owner for words in picture.words if words.kind == "value"]
    levels = [s.name for s in circuit.sources if s.kind != "driven"]
    assert sorted(values) == sorted([*circuit.part_names, *levels, "supply"])


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
@pytest.mark.parametrize("options", [{"values": False}, {"voltages": True}], ids=["bare", "voltages"])
def test_nothing_covers_anything_with_other_captions(case, options):
    stage, picture = drawn(case, **options)
    assert picture.overlaps() == []
    assert picture.nodes(stage.circuit) == []


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_signal_runs_from_left_to_right_and_grounds_hang(case):
    stage, picture = drawn(case)
    at = {shape.name: shape for shape in picture.shapes}
    along = [at[name].terminals[0][0] for name in ("signal", "c_in", "opamp", "c_out") if name in at]
    assert along == sorted(along)
    for part in stage.circuit.parts:
        first, second = at[part.name].terminals
        if "ground" in part.nodes:
            upper = first if part.nodes[1] == "ground" else second
            assert upper[1] == min(first[1], second[1])
        if "supply" in part.nodes:
            lower = first if part.nodes[1] == "supply" else second
            assert lower[1] == max(first[1], second[1])


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_wires_cross_only_where_several_inputs_share_a_node(case):
    stage, picture = drawn(case)
    one_input = [opamp.plus for opamp in stage.circuit.opamps] == ["plus"] and not works_back(stage.circuit)
    if one_input and len([s for s in stage.circuit.sources if s.kind == "driven"]) == 2:
        assert picture.crossings() == set()
    assert len(picture.crossings()) <= 3


def test_reader_finds_what_is_wrong():
    case = FULL_CASES[0]
    stage, whole = drawn(case)
    svg = whole.svg

    def without(piece):
        assert piece in svg
        return Reader(svg.replace(piece, "", 1))

    lines = svg.splitlines()
    dot = next(line for line in lines if line.startswith("<circle"))
    wire = next(line for line in lines if 'data-wire="plus"' in line)
    assert without(dot).dot_faults() != []
    assert without(wire).nodes(stage.circuit) != []
    assert without(wire).dot_faults() != []

    short = '<path data-wire="bias" d="M0 0H400"/>'
    assert any("joined" in fault for fault in Reader(svg.replace(wire, short)).nodes(stage.circuit))

    values = [line for line in lines if 'data-part="r_f"' in line]
    onto_other = svg.replace(values[0], values[0] + values[0].replace("r_f", "r_g"))
    assert any("covers" in fault for fault in Reader(onto_other).overlaps())
    body = next(line for line in lines if 'data-body="c_in"' in line)
    moved = svg.replace(body, body.replace("translate(", "translate(1"))
    assert Reader(moved).nodes(stage.circuit) != []
