"""What a page, a screen reader and a live view rely on in a schematic."""

import re
from dataclasses import replace

import pytest

import singlerail_nb as sr
from singlerail_nb.circuit.printed_names import symbol_name
from singlerail_nb.plots.schematic import schematic_svg, schematic_text
from singlerail_nb.plots.schematic.symbols import FONT_SIZES, SYMBOLS, text_width
from singlerail_nb.quantities import write_quantity
from tests.circuits_for_tests import CASES, FULL_CASES, random_stage
from tests.plots.schematic_reader import FACES, SHAPES, SVG, Reader, ink, strokes

MOST_BYTES = 15_000


def hive_stage(**changes):
    """Return the pickup amplifier of the hive monitor."""
    parts = {
        "r_source": "220", "c_in": "220n", "r_bias": "47k", "r_top": "33k", "r_bottom": "33k",
        "c_bias": "10u", "r_f": "39k", "r_g": "1k", "c_g": "4u7", "c_out": "4u7", "r_load": "10k",
    }  # fmt: skip
    return sr.stage("noninverting", supply=9, **{**parts, **changes})


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_small_standalone_and_always_the_same(case):
    svg = schematic_svg(random_stage(case), voltages=True)
    assert len(svg.encode()) < MOST_BYTES
    assert svg == schematic_svg(random_stage(case), voltages=True)
    assert not re.findall(r"https?://(?!www\.w3\.org/2000/svg\")|url\(|@import|<script|\bid=", svg)


def test_root_carries_role_title_and_description():
    stage = hive_stage()
    root = Reader(schematic_svg(stage)).root
    assert root.get("role") == "img"
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root.find(f"{SVG}title").text == "Schematic: Non-inverting stage"
    assert root.find(f"{SVG}desc").text == schematic_text(stage)


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_drawing_fits_its_view(case):
    picture = Reader(schematic_svg(random_stage(case)))
    left, top, width, height = map(float, picture.root.get("viewBox").split())
    points = [p for shape in picture.shapes for piece in shape.strokes for p in piece]
    points += [p for _, piece in picture.wires for p in piece]
    points += [p for words in picture.words for p in (words.box[:2], words.box[2:])]
    assert min(x for x, _ in points) > left
    assert max(x for x, _ in points) < left + width
    assert min(y for _, y in points) > top
    assert max(y for _, y in points) < top + height


def test_colours_come_from_the_page():
    svg = schematic_svg(hive_stage())
    assert set(re.findall(r"(?:fill|stroke|color):([\w#]+)", svg)) == {"none", "currentColor", "inherit"}
    assert not re.findall(r' (?:fill|stroke)="', svg)


def test_live_values_are_the_whole_text_of_their_elements():
    stage = hive_stage()
    root = Reader(schematic_svg(stage)).root
    live = {element.get("data-part"): element for element in root.iter() if element.get("data-part")}
    for part in stage.circuit.parts:
        assert live[part.name].tag == f"{SVG}text"
        assert live[part.name].text == write_quantity(stage.values[part.name], part.unit)
        assert len(live[part.name]) == 0
    assert live["supply"].text == "9 V"


def test_only_texts_change_when_values_change():
    one, other = schematic_svg(hive_stage()), schematic_svg(hive_stage(c_in="4u7", r_bias="1M", r_f="2k2"))
    differing = [a for a, b in zip(one.splitlines(), other.splitlines(), strict=True) if a != b]
    assert {re.search(r"desc|data-part=\"\w+\"", line)[0] for line in differing} == {
        "desc", 'data-part="c_in"', 'data-part="r_bias"', 'data-part="r_f"',
    }  # fmt: skip


def test_a_longer_value_gets_more_room():
    picture = Reader(schematic_svg(hive_stage(r_bias=1_234_000.0, c_bias=10.07e-6, c_in=123.4e-9)))
    assert picture.overlaps() == []


def test_without_values_no_number_is_given_away():
    stage = hive_stage()
    picture = Reader(schematic_svg(stage, values=False))
    assert [words for words in picture.words if words.kind == "value"] == []
    text = schematic_text(stage, values=False)
    assert picture.root.find(f"{SVG}desc").text == text
    assert not re.findall(r"\d", text)


def test_a_source_resistance_of_zero_is_a_wire():
    stage = hive_stage(r_source=0)
    picture = Reader(schematic_svg(stage))
    assert "r_source" not in {shape.name for shape in picture.shapes}
    assert "R_s is 0 and drawn as a wire." in schematic_text(stage)


# ---- polarity ----------------------------------------------------------------------------------
def plus_nodes(stage):
    """Return {capacitor: node at its + mark}, read from where the mark is drawn."""
    picture = Reader(schematic_svg(stage))
    found = {}
    for name, (left, top, right, bottom) in picture.marks.items():
        x, y = (left + right) / 2, (top + bottom) / 2
        shape = next(shape for shape in picture.shapes if shape.name == name)
        nearest = min(
            (0, 1), key=lambda n: sum(abs(a - b) for a, b in zip(shape.terminals[n], (x, y), strict=True))
        )
        found[name] = stage.circuit.part(name).nodes[nearest]
    return found


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_plus_marks_stand_at_the_more_positive_node(case):
    stage = random_stage(case)
    rest = sr.operating_point(stage)
    marked = plus_nodes(stage)
    for part in stage.circuit.capacitors:
        volts = [rest.voltages.get(node) for node in part.nodes]
        if None in volts or abs(volts[0] - volts[1]) < 0.05:
            assert part.name not in marked
        else:
            assert marked[part.name] == part.nodes[volts[1] > volts[0]]


def test_a_capacitor_that_drifts_has_no_mark():
    stage = sr.stage(
        "input_without_bias_path", supply=9, r_source=0, c_in="1u", r_top="10k", r_bottom="10k", c_bias="10u",
        r_f="10k", r_g="1k", c_g="10u",
    )  # fmt: skip
    assert plus_nodes(stage) == {"c_bias": "bias"}
    assert "plus drifts" in schematic_text(stage)


def test_an_output_that_cannot_get_there_is_said_to_be_at_the_rail():
    stage = sr.stage(
        "leg_without_capacitor", supply=9, r_source=0, c_in="1u", r_bias="47k", r_top="10k", r_bottom="10k",
        c_bias="10u", r_f="39k", r_g="1k", c_out="4u7", r_load="10k",
    )  # fmt: skip
    names = {w.content for w in Reader(schematic_svg(stage, voltages=True)).words if w.kind == "node"}
    assert names == {"signal", "plus 4.5 V", "bias 4.5 V", "minus", "amp_out at rail", "output 0 V"}


# ---- names, words and shapes ---------------------------------------------------------------------
def test_chief_nodes_are_named_with_their_voltages():
    words = Reader(schematic_svg(hive_stage(), voltages=True)).words
    assert {w.owner: w.content for w in words if w.kind == "node"} == {
        "signal": "signal", "plus": "plus 4.5 V", "minus": "minus 4.5 V", "bias": "bias 4.5 V",
        "amp_out": "amp_out 4.5 V", "output": "output 0 V",
    }  # fmt: skip


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_every_path_node_is_named(case):
    stage = random_stage(case)
    for voltages in (False, True):
        words = Reader(schematic_svg(stage, voltages=voltages)).words
        named = [w.owner for w in words if w.kind == "node"]
        assert len(named) == len(set(named))
        bias = {"bias"} if stage.type.uses_bias else set()
        assert bias | {*stage.circuit.path, *(o.minus for o in stage.circuit.opamps)} <= set(named)


def test_an_output_without_coupling_capacitor_has_both_names_once():
    stage = hive_stage().without_parts("c_out", "r_load")
    words = Reader(schematic_svg(stage, voltages=True)).words
    assert [w.content for w in words if w.owner == "amp_out"] == ["amp_out = output 4.5 V"]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_words_state_every_part_and_value(case):
    stage = random_stage(case)
    text = schematic_text(stage)
    for part in stage.circuit.parts:
        assert (
            text.count(f"{symbol_name(part.name)} = {write_quantity(stage.values[part.name], part.unit)} (")
            == 1
        )
    for name, volts in stage.levels.items():
        assert write_quantity(volts, "V") in text
        assert name in text
    assert f"V_S = {write_quantity(stage.supply, 'V')}" in text


def test_names_are_escaped():
    stage = hive_stage()
    odd = replace(stage.circuit, path=(*stage.circuit.path[:-1], "out<put"))
    parts = tuple(
        replace(p, nodes=tuple("out<put" if n == "output" else n for n in p.nodes)) for p in odd.parts
    )
    object.__setattr__(stage, "circuit", replace(odd, parts=parts))
    assert 'data-wire="out&lt;put"' in schematic_svg(stage)


@pytest.mark.parametrize("kind", FACES)
def test_estimated_widths_hold_for_a_wide_typeface(kind):
    face, size = FACES[kind]
    size_of = {"s": "symbol", "n": "node", "": "value"}
    assert size == FONT_SIZES[size_of[kind]]
    for text in (
        "88.88 kΩ",
        "999.9 MΩ",
        "4.697 µF",
        "100 nF",
        "Rbias",
        "Cin",
        "VS",
        "amp_out 4.127 V",
        "regulated",
    ):
        assert ink(text, face, size)[0] <= 10 * text_width(text, size)


def test_terminals_are_the_ends_of_strokes():
    assert set(SYMBOLS) == set(SHAPES)
    for name, symbol in SYMBOLS.items():
        ends = [p for piece in strokes(symbol.path) for p in piece]
        assert SHAPES[name] == tuple((10 * x, 10 * y) for x, y in symbol.terminals)
        for terminal in SHAPES[name]:
            assert terminal in ends


@pytest.mark.parametrize("name", ["opamp", "opamp_minus_up"])
def test_signs_stand_at_their_inputs(name):
    pieces = strokes(SYMBOLS[name].path)
    signs = [
        ((a[0] + b[0]) / 2, a[1]) for a, b in pieces if a[1] == b[1] and -40 < a[0] < -20 and -40 < b[0] < -20
    ]
    crossed = [(a[0], (a[1] + b[1]) / 2) for a, b in pieces if a[0] == b[0] and -35 < a[0] < -20]
    plus, minus = SHAPES[name][:2]
    assert [y for _, y in crossed] == [plus[1]]
    assert sorted(y for _, y in signs) == sorted([plus[1], minus[1]])
