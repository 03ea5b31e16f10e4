"""The published form of design files: a JSON schema that the reader obeys; old files stay readable."""

import copy
import json
from dataclasses import fields
from pathlib import Path

import jsonschema
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from singlerail_nb.circuit.opamp import OpAmp
from singlerail_nb.circuit.opamp_figures import Limits, SwingPoint
from singlerail_nb.designing.demands import Demands
from singlerail_nb.designing.design_document import SCHEMA, design_document
from singlerail_nb.designing.design_file import load_design, read_document
from singlerail_nb.designing.design_schema import checked, schema
from singlerail_nb.designing.requirements import Droop, Requirements
from singlerail_nb.errors import QuantityError
from singlerail_nb.version import __version__
from tests.circuits_for_tests import FULL_CASES, random_stage
from tests.fuzzing.seeds import PLACES, VALUES

STORED = Path(__file__).parent / "design_files"
WHOLE = json.loads((STORED / "version_1_design.json").read_text(encoding="utf-8"))
RECORDS = {
    "opamp": OpAmp, "swing_point": SwingPoint, "limits": Limits, "requirements": Requirements, "droop": Droop,
    "demands": Demands,
}  # fmt: skip


def validator():
    return jsonschema.Draft202012Validator(schema())


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(schema())
    assert schema()["properties"]["schema"] == {"const": SCHEMA}


@pytest.mark.parametrize("name", RECORDS)
def test_the_schema_has_every_field_of_the_records(name):
    """A new field of a record is a new field of the published form: enter it there."""
    assert set(schema()["$defs"][name]["properties"]) == {field.name for field in fields(RECORDS[name])}


def test_everything_in_the_schema_is_used_by_the_reader():
    keywords = {
        "type", "properties", "required", "additionalProperties", "propertyNames", "pattern", "items",
        "const", "anyOf", "enum", "exclusiveMinimum", "exclusiveMaximum", "$ref", "$defs", "$schema", "title",
        "description",
    }  # fmt: skip

    def used(rule):
        yield from rule
        for key in ("properties", "$defs"):
            for inner in rule.get(key, {}).values():
                yield from used(inner)
        for key in ("additionalProperties", "propertyNames", "items"):
            if isinstance(rule.get(key), dict):
                yield from used(rule[key])

    assert set(used(schema())) <= keywords


@pytest.mark.parametrize("case", FULL_CASES, ids=str)
def test_what_is_written_has_the_published_form(case):
    validator().validate(json.loads(json.dumps(design_document(random_stage(case)))))


@pytest.mark.parametrize("path", sorted(STORED.glob("*.json")), ids=lambda path: path.stem)
def test_stored_files_of_old_versions_are_read(path):
    """These files are never written again: whatever the schema becomes, they must be read."""
    document = json.loads(path.read_text(encoding="utf-8"))
    found = load_design(path)
    stage = getattr(found, "stage", found)
    assert (stage.name, stage.supply, stage.bias) == (document["stage"], document["supply"], document["bias"])
    assert dict(stage.values) == document["values"]
    assert dict(stage.levels) == document["levels"]
    assert (stage.opamp.name if stage.opamp else None) == document.get("opamp", {}).get("name")
    if "requirements" in document:
        assert found.requirements.gain == document["requirements"]["gain"]
        assert found.requirements.demands.output_swing == 1.0


def test_there_is_a_stored_file_of_every_version():
    stored = {json.loads(path.read_text(encoding="utf-8"))["schema"] for path in STORED.glob("*.json")}
    assert stored == set(range(1, SCHEMA + 1))


def edited(edits):
    document = copy.deepcopy(WHOLE)
    for (*way, last), value in edits:
        record = document
        for key in way:
            record = record.get(key) if isinstance(record, dict) else None
        if isinstance(record, dict):
            record[last] = value
    return document


EDITS = st.lists(st.tuples(st.sampled_from(PLACES), st.sampled_from(VALUES)), max_size=3)


@settings(max_examples=300)
@given(EDITS)
@example([(("values", "supply"), 9.0)])
@example([(("schema",), True)])
@example([(("levels", "opamp"), 1.0)])
@example([(("opamp", "swing"), [{"load": "infinite", "low": 0.1, "high": 0.1}])])
def test_the_reader_takes_what_the_schema_takes(edits):
    document = edited(edits)
    if validator().is_valid(document):
        assert set(checked("file", document)) == set(document)
    else:
        with pytest.raises(QuantityError, match=r"^file"):
            checked("file", document)


def test_a_newer_file_gives_one_clear_error():
    newer = {**WHOLE, "schema": SCHEMA + 1, "package_version": "9.1.0", "rail": "the form of tomorrow"}
    with pytest.raises(QuantityError) as caught:
        read_document(newer, "pickup.json")
    error = caught.value
    assert error.quantity == "pickup.json, schema"
    assert error.value == f"{SCHEMA + 1}, written by singlerail_nb 9.1.0"
    assert f"newer than this singlerail_nb {__version__}" in error.remedy


def test_a_design_survives_the_round_trip_through_the_published_form():
    design = read_document(WHOLE)
    assert design_document(design.stage, design.requirements) == {**WHOLE, "package_version": __version__}
