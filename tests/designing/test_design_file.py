"""The design file: what is written is read back the same; what is broken gives one clear error."""

import json
import math

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.design_document import SCHEMA
from singlerail_nb.designing.design_file import load_design, save_design
from singlerail_nb.designing.synthesis import Design
from singlerail_nb.errors import CircuitError, QuantityError, SingleRailError, UnknownNameError
from tests.circuits_for_tests import FULL_CASES, random_stage

NEED = {
    "supply": "5 V", "supply_min": "4.4 V", "supply_max": "5.25 V", "gain": 20, "low_cutoff": "40 Hz",
    "droop": ("0.5 dB", "100 Hz"), "input_impedance": "100 kohm", "source_resistance": "10 kohm",
    "load": "10 kohm", "output_swing": "1 Vpp",
}  # fmt: skip


@pytest.fixture(scope="module")
def design():
    return sr.design(sr.Requirements(**NEED, opamp=sr.opamp("MPC")))


@pytest.fixture
def document(design, tmp_path):
    return json.loads(save_design(tmp_path / "pickup.json", design).read_text(encoding="utf-8"))


def reread(document, folder):
    path = folder / "changed.json"
    path.write_text(document if isinstance(document, str) else json.dumps(document), encoding="utf-8")
    return load_design(path)


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_every_stage_comes_back_the_same(case, tmp_path):
    stage = random_stage(case)
    assert load_design(save_design(tmp_path / "stage.json", stage)) == stage


@pytest.mark.parametrize("name", sr.opamps())
def test_every_op_amp_record_comes_back_the_same(name, tmp_path):
    stage = sr.stage(
        "follower", supply=9, c_in="1u", r_bias="100k", r_top="10k", r_bottom="10k", c_bias="10u",
        r_source=0, opamp=sr.opamp(name),
    )  # fmt: skip
    assert load_design(save_design(tmp_path / "stage.json", stage)) == stage


def test_a_design_comes_back_with_requirements_and_reasons(design, tmp_path):
    again = load_design(save_design(tmp_path / "pickup.json", design))
    assert again == design
    assert [step.part for step in again.steps] == [step.part for step in design.steps]


def test_a_design_changed_by_hand_has_no_reasons_of_the_synthesis(design, document, tmp_path):
    document["values"]["c_in"] = 1e-6
    again = reread(document, tmp_path)
    assert isinstance(again, Design)
    assert again.stage == design.stage.with_parts(c_in=1e-6)
    assert again.requirements == design.requirements
    assert again.steps == ()


def test_infinity_is_written_as_a_word(tmp_path):
    point = {"load": math.inf, "low": 0.1, "high": 0.2}
    from singlerail_nb.circuit.opamp_figures import SwingPoint

    amp = sr.OpAmp("own", 1e6, 1e5, swing=(SwingPoint(**point),))
    stage = sr.stage(
        "follower", supply=9, c_in="1u", r_bias="100k", r_top="10k", r_bottom="10k", c_bias="10u",
        r_source=0, opamp=amp,
    )  # fmt: skip
    path = save_design(tmp_path / "stage.json", stage)
    assert json.loads(path.read_text())["opamp"]["swing"] == [point | {"load": "infinite"}]
    assert load_design(path) == stage


def without(name):
    return lambda document: document.pop(name)


def with_field(*path, value):
    def spoil(document):
        for key in path[:-1]:
            document = document[key]
        document[path[-1]] = value

    return spoil


FAULTS = {
    "newer schema": (with_field("schema", value=SCHEMA + 1), QuantityError, "schema"),
    "schema as a truth value": (with_field("schema", value=True), QuantityError, "schema"),
    "no schema": (without("schema"), QuantityError, "no schema"),
    "no values": (without("values"), QuantityError, "no values"),
    "unknown field": (with_field("colour", value="red"), QuantityError, "colour"),
    "unknown stage": (with_field("stage", value="bridge"), UnknownNameError, "bridge"),
    "unknown bias": (with_field("bias", value="battery"), UnknownNameError, "battery"),
    "unknown part": (with_field("values", "r_x", value=1e3), UnknownNameError, "r_x"),
    "reserved name": (with_field("values", "supply", value=9.0), QuantityError, "names of parts"),
    "missing part": (lambda d: d["values"].pop("r_f"), CircuitError, "r_f"),
    "text for a number": (with_field("values", "r_f", value="47k"), QuantityError, "a number"),
    "truth value for a number": (with_field("values", "r_f", value=True), QuantityError, "a number"),
    "huge number": (with_field("values", "r_f", value=10**400), QuantityError, "a number"),
    "implausible value": (with_field("values", "r_f", value=1e-9), QuantityError, "r_f"),
    "wrong kind": (with_field("values", value=[1, 2]), QuantityError, "an object"),
    "broken op-amp": (with_field("opamp", "gbw", value=-1.0), QuantityError, "gain-bandwidth"),
    "unknown op-amp field": (with_field("opamp", "price", value=1.0), QuantityError, "price"),
    "swing without load": (lambda d: d["opamp"]["swing"][0].pop("load"), QuantityError, "load"),
    "contradiction": (with_field("requirements", "supply_min", value=6.0), SingleRailError, "supply"),
    "unknown requirement": (with_field("requirements", "taste", value=1.0), QuantityError, "taste"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_broken_file_gives_one_clear_error(fault, document, tmp_path):
    spoil, kind, says = FAULTS[fault]
    spoil(document)
    with pytest.raises(kind, match=says):
        reread(document, tmp_path)


@pytest.mark.parametrize("text", ["", "{", "[]", "null", '"__import__"', "[" * 100_000, '{"schema": NaN}'])
def test_what_is_no_design_file_is_refused(text, tmp_path):
    with pytest.raises(QuantityError, match=r"changed\.json"):
        reread(text, tmp_path)


def test_bytes_that_are_no_text_are_refused(tmp_path):
    path = tmp_path / "noise.json"
    path.write_bytes(bytes(range(256)))
    with pytest.raises(QuantityError, match=r"noise\.json"):
        load_design(path)


def test_only_designs_and_stages_are_written(tmp_path):
    with pytest.raises(QuantityError, match="a Design or a Stage"):
        save_design(tmp_path / "x.json", {"stage": "follower"})
    assert list(tmp_path.iterdir()) == []


def test_an_old_file_stays_whole_when_writing_fails(design, tmp_path, monkeypatch):
    path = save_design(tmp_path / "pickup.json", design)
    before = path.read_bytes()

    def fail(_handle):
        raise OSError("disk full")

    monkeypatch.setattr("os.fsync", fail)
    with pytest.raises(OSError, match="disk full"):
        save_design(path, design.stage)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]
