"""The published schemas and generated pages are fresh, and the worked pairs keep to the schemas."""

from __future__ import annotations

import importlib.util
import json
from datetime import date
from functools import cache

import pytest
from contracts.tree import ROOT, TESTS
from jsonschema import Draft202012Validator

from treadle.assess import assess, vocabulary
from treadle.assess.file_model import assessment_schema
from treadle.errors import BadInput
from treadle.fleet.file_model import walkaround_schema
from treadle.fleet.read import read_walkaround
from treadle.rules.load import shipped

REFERENCE = ROOT / "docs" / "reference"
PAIRS = TESTS / "acceptance" / "pairs"
EXPECTED = {
    path.name.removesuffix(".expected.json"): json.loads(path.read_text(encoding="utf-8"))
    for path in sorted(PAIRS.glob("*.expected.json"))
}
TAKEN = [name for name, expected in EXPECTED.items() if expected["exit"] != 2]
REFUSED = [name for name in EXPECTED if name not in TAKEN]
ANEW = "Make it anew with: python docs/generate.py"


@cache
def generator():
    """The script that makes the pages of docs/reference."""
    spec = importlib.util.spec_from_file_location("treadle_docs_generate", ROOT / "docs" / "generate.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def text_of(name):
    return (PAIRS / f"{name}.walkaround.json").read_text(encoding="utf-8")


# -- fresh


@pytest.mark.parametrize(
    ("name", "schema"),
    [("walkaround-1.schema.json", walkaround_schema), ("assessment-1.schema.json", assessment_schema)],
)
def test_a_published_schema_is_the_one_the_code_makes(name, schema):
    published = json.loads((REFERENCE / "schemas" / name).read_text(encoding="utf-8"))
    assert published == schema(), f"docs/reference/schemas/{name} is stale. {ANEW}"


@pytest.mark.parametrize("name", sorted(generator().pages()))
def test_a_generated_page_is_fresh(name):
    published = (REFERENCE / name).read_text(encoding="utf-8")
    assert published == generator().pages()[name], f"docs/reference/{name} is stale. {ANEW}"


def test_a_page_that_is_stale_or_missing_is_found(monkeypatch, tmp_path):
    made = generator()
    monkeypatch.setattr(made, "REFERENCE", tmp_path)
    assert made.stale() == list(made.pages())
    for name, text in made.pages().items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    assert made.stale() == []
    (tmp_path / "rules.md").write_text("# Rules\n", encoding="utf-8")
    assert made.stale() == ["rules.md"]


# -- what the schemas say


@pytest.mark.parametrize("schema", [walkaround_schema, assessment_schema])
def test_a_schema_is_itself_a_schema(schema):
    Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("name", TAKEN)
def test_a_walk_around_that_is_taken_keeps_to_its_schema(name):
    assert faults(walkaround_schema, json.loads(text_of(name))) == []


@pytest.mark.parametrize("name", TAKEN)
def test_the_assessment_of_a_worked_pair_keeps_to_its_schema(name):
    rules = shipped()
    walk_around = read_walkaround(text_of(name), vocabulary(rules))
    for language in ("en", "es"):
        written = json.dumps(assess(walk_around, rules).as_json(language))
        assert faults(assessment_schema, json.loads(written)) == []


@pytest.mark.parametrize("name", REFUSED)
def test_a_walk_around_that_a_pair_refuses_is_refused_whatever_its_schema_can_see(name):
    with pytest.raises(BadInput):
        read_walkaround(text_of(name), vocabulary(shipped()))


def faults(schema, content):
    return [fault.message for fault in validator(schema).iter_errors(content)]


@cache
def validator(schema):
    """What holds a file against the schema that a function makes."""
    return Draft202012Validator(schema())


# -- the schemas can fail


def spoil(content, path, value):
    *way, last = path
    for step in way:
        content = content[step]
    content[last] = value


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["treadle"], "walkaround/2"),
        (["colour"], "red"),
        (["occasion"], "yearly"),
        (["units"], []),
        (["units", 0, "kind"], "lorry"),
        (["units", 0, "axles", 0, "chamber", "design"], "round"),
        (["taken", "engine"], "idling"),
        (["readings", 0, "kind"], "strok"),
        (["readings", 0, "value"], 1.25),
        (["readings", 0, "axle"], 0),
        (["readings", 0, "colour"], "red"),
    ],
)
def test_a_walk_around_out_of_shape_does_not_keep_to_its_schema(path, value, clean):
    assert faults(walkaround_schema, clean) == []
    spoil(clean, path, value)
    assert faults(walkaround_schema, clean)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["outcome"], "fine"),
        (["colour"], "red"),
        (["findings", 0, "layer"], "federal"),
        (["findings", 0, "measured"], 1.25),
        (["findings", 0, "colour"], "red"),
        (["units", 0, "axles", 0, "wheel_ends", 0, "side"], "near"),
        (["combinations", 0, "halves"], "1"),
    ],
)
def test_an_assessment_out_of_shape_does_not_keep_to_its_schema(path, value, clean):
    rules = shipped()
    written = assess(read_walkaround(json.dumps(clean), vocabulary(rules)), rules, on=date(2026, 10, 2)).as_json()
    assert faults(assessment_schema, written) == []
    spoil(written, path, value)
    assert faults(assessment_schema, written)
