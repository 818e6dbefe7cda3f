"""Broken rule files: each is refused, and its very line is named."""

import pytest
from unit.rules.test_load import STROKE

from treadle.errors import DataFault
from treadle.rules.load import load

SECOND = """
[[value]]
as_printed = "2"
customary = { value = 2, unit = "in" }
source = "cfr-49-393"
locator = "1"
effective_from = 2020-01-01
"""
CONDITION = (
    'label.en = "a leak"\nlabel.es = "una fuga"\npart = "air"\nbreaches = [\n  "us.stroke_seen",\n  "us.leak",\n]\n'
)
SEEN = STROKE.replace("applied_stroke", "condition").replace("breach_if_more_than", "breach_if_seen")


def with_line(extra):
    return STROKE.replace('then = "fix"', f'then = "fix"\n{extra}')


LINES = {
    "a word of a label": (STROKE.replace('"Stroke"', '"Stroke, then leak"').replace('= "fix"', '= "good"'), 7),
    "a word of a remark": ("# The layer is operate.\n" + STROKE.replace('"operate"', '"x"'), 7),
    "a key missing from the second value": (STROKE + SECOND.replace('locator = "1"\n', ""), 18),
    "the second of two values out of order": (STROKE + SECOND.replace("2020", "2010"), 23),
    "the second value without its figure": (
        STROKE + SECOND.replace('customary = { value = 2, unit = "in" }\n', ""),
        19,
    ),
    "a figure that is no quantity": (STROKE.replace('"1 3/4", unit = "in"', '"one", unit = "in"'), 12),
    "a unit that is none": (STROKE.replace('44.5, unit = "mm"', '44.5, unit = "furlong"'), 13),
}


def fault(tmp_path, files):
    for path, content in files.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(DataFault) as found:
        load(tmp_path)
    return found.value.problems[0]


@pytest.mark.parametrize("name", LINES)
def test_the_line_named_is_the_one_at_fault(name, tmp_path):
    text, line = LINES[name]
    assert fault(tmp_path, {"us/stroke.toml": text}).where == f"rules/data/us/stroke.toml, line {line}"


def test_of_several_rules_that_a_condition_breaches_the_missing_one_is_at_the_line_named(tmp_path):
    found = fault(tmp_path, {"us/stroke_seen.toml": SEEN, "conditions/x.toml": CONDITION})
    assert found.where == "rules/data/conditions/x.toml, line 6"


def test_a_wrong_comparator_is_named_as_people_wrote_its_key(tmp_path):
    text = STROKE.replace("breach_if_more_than", "breach_if_over")
    assert fault(tmp_path, {"us/stroke.toml": text}).details["key"] == "comparator"


BROKEN = {
    "a range of one": with_line('over = ["85 psi"]'),
    "a window of one": with_line('needs = { reservoir = ["85 psi"] }'),
    "a limit like its own": with_line('same_limit_as = "us.stroke"'),
    "bytes that are no text": STROKE.encode() + b"# \xff\n",
    "a rated stroke that is no text": STROKE.replace('brake = "air_drum"', "rated_stroke = 3"),
    "a value that ends before it begins": STROKE + "ends = 2010-01-01\n",
    "two values on one day": STROKE + "ends = 2030-01-01\n" + SECOND,
    "a figure under the other system": STROKE.replace('44.5, unit = "mm"', '44.5, unit = "in"'),
    "an unknown source that enacted it": STROKE + 'enacted_by = { source = "nowhere", published = 2012-01-01 }\n',
    "a list of nothing": STROKE.replace("breach_if_more_than", "breach_if_one_of"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_what_is_broken_is_a_fault_of_the_data(name, tmp_path):
    """The first five raise ValueError, RecursionError, UnicodeDecodeError, AttributeError; the others load."""
    assert fault(tmp_path, {"us/stroke.toml": BROKEN[name]}).where.startswith("rules/data/us/stroke.toml")
