"""The law as held: every value has its proof, every rule says what it must, every condition breaches rules there are.

Each check is a function that returns what is wrong, in sentences that say how to right it, and has a test that it can
find something.
"""

from __future__ import annotations

import ast
import re
import tomllib
from dataclasses import replace
from datetime import date
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import pytest
from contracts.tree import SOURCE, modules_below, parsed, shown

from treadle.rules.load import shipped
from treadle.rules.model import BASES, COMPARATORS, LAYERS, OUTCOMES, Row
from treadle.sources import bibliography
from treadle.words import LANGUAGES

RULES = shipped()
DATA = SOURCE / "rules" / "data"
FILES = {path.relative_to(DATA).as_posix(): path.read_text(encoding="utf-8") for path in sorted(DATA.rglob("*.toml"))}
RULE_FILES = {
    path.removesuffix(".toml").replace("/", "."): tomllib.loads(text)
    for path, text in FILES.items()
    if not path.startswith("conditions/")
}


# -- sources


def source_keys_in(files: dict[str, dict[str, Any]]) -> dict[str, set[str]]:
    """Each source key that a rule file names, wherever it stands, with the rules that name it."""
    found: dict[str, set[str]] = {}

    def look(rule: str, node: Any) -> None:
        for key, value in node.items() if isinstance(node, dict) else enumerate(node):
            if key == "source":
                found.setdefault(value, set()).add(rule)
            elif isinstance(value, dict | list):
                look(rule, value)

    for rule, table in files.items():
        look(rule, table)
    return found


def source_keys_in_code() -> set[str]:
    """Each source key that the code cites by itself, such as the shop's own policy."""
    text = "\n".join(path.read_text(encoding="utf-8") for path in modules_below(SOURCE))
    return set(re.findall(r"\bcite\(\s*\"([a-z0-9-]+)\"", text))


def unresolved_sources(files: dict[str, dict[str, Any]], known: set[str]) -> list[str]:
    return [
        f"{', '.join(sorted(rules))}: no source '{key}'. Add it to sources.toml, or correct the key in the rule."
        for key, rules in source_keys_in(files).items()
        if key not in known
    ]


def test_every_source_a_rule_names_is_in_the_bibliography():
    assert unresolved_sources(RULE_FILES, set(bibliography())) == []


def test_every_source_the_code_cites_is_in_the_bibliography():
    assert source_keys_in_code() - set(bibliography()) == set()


@pytest.mark.parametrize(
    "value",
    [
        {"source": "nowhere"},
        {"source": "cfr-49-393", "also": [{"source": "nowhere"}]},
        {"source": "cfr-49-393", "enacted_by": {"source": "nowhere"}},
    ],
)
def test_an_unresolved_source_is_found_wherever_it_stands(value):
    (found,) = unresolved_sources({"us.a_rule": {"value": [value]}}, {"cfr-49-393"})
    assert found.startswith("us.a_rule: no source 'nowhere'")


# -- values


def values_without_proof(rules: Any) -> list[str]:
    return [
        f"{rule.id}: its value of {value.effective_from} has no {name}. Add {name} to that value."
        for rule in rules
        for value in rule.values
        for name, given in (
            ("locator", value.citation.locator),
            ("effective_from", value.effective_from),
            ("as_printed", all(row.as_printed.strip() for row in value.rows)),
        )
        if not given
    ]


def test_every_value_has_its_locator_its_first_day_and_its_print():
    assert values_without_proof(RULES.rules.values()) == []


def a_value(**fields):
    row = Row({}, None, "found", "2")
    given = {"effective_from": date(2012, 9, 5), "ends": None, "citation": SimpleNamespace(locator="1"), "rows": (row,)}
    return SimpleNamespace(**given | fields)


@pytest.mark.parametrize(
    ("lacking", "name"),
    [
        (a_value(citation=SimpleNamespace(locator="")), "locator"),
        (a_value(effective_from=None), "effective_from"),
        (a_value(rows=(Row({}, None, "found", " "),)), "as_printed"),
    ],
)
def test_a_value_without_proof_is_found(lacking, name):
    (found,) = values_without_proof([SimpleNamespace(id="us.a_rule", values=(a_value(), lacking))])
    assert f"has no {name}" in found


def overlapping_values(rules: Any) -> list[str]:
    out = []
    for rule in rules:
        for earlier, later in pairwise(rule.values):
            if earlier.ends is not None and earlier.ends > later.effective_from:
                out.append(f"{rule.id}: two values on {later.effective_from}. End the first on that day, or earlier.")
        out += [
            f"{rule.id}: a value ends on {value.ends}, before it begins. Correct one of the days."
            for value in rule.values
            if value.ends is not None and value.ends <= value.effective_from
        ]
    return out


def test_no_two_values_of_a_rule_are_in_force_on_one_day():
    assert overlapping_values(RULES.rules.values()) == []


@pytest.mark.parametrize(
    ("first", "caught"),
    [({"ends": date(2021, 4, 1)}, 0), ({}, 0), ({"ends": date(2021, 4, 2)}, 1), ({"ends": date(2012, 9, 5)}, 1)],
)
def test_values_that_overlap_or_end_before_they_begin_are_found(first, caught):
    rule = SimpleNamespace(id="us.a_rule", values=(a_value(**first), a_value(effective_from=date(2021, 4, 1))))
    assert len(overlapping_values([rule])) == caught


# -- what every rule says


def rules_that_lack_something(files: dict[str, dict[str, Any]]) -> list[str]:
    allowed = {"basis": BASES, "layer": LAYERS, "then": OUTCOMES, "comparator": COMPARATORS}
    return [
        f"{rule}: {key} is {table.get(key)!r}. Give one of: {', '.join(words)}."
        for rule, table in files.items()
        for key, words in allowed.items()
        if table.get(key) not in words
    ] + [
        f"{rule}: it has no label in {language}. Add label.{language}."
        for rule, table in files.items()
        for language in LANGUAGES
        if not str(table.get("label", {}).get(language, "")).strip()
    ]


def test_every_rule_has_its_basis_layer_outcome_comparator_and_labels():
    assert rules_that_lack_something(RULE_FILES) == []


@pytest.mark.parametrize("key", ["basis", "layer", "then", "comparator", "label"])
def test_a_rule_that_lacks_something_is_found(key):
    whole = RULE_FILES["us.federal.stroke"]
    assert rules_that_lack_something({"us.a_rule": whole}) == []
    lacking = {name: value for name, value in whole.items() if name != key}
    assert len(rules_that_lack_something({"us.a_rule": lacking})) == (len(LANGUAGES) if key == "label" else 1)


def test_labels_of_conditions_are_in_every_language():
    labels = {f"conditions.{name}": one.label for name, one in RULES.conditions.items()}
    assert [name for name, label in labels.items() if {*label} != {*LANGUAGES} or not all(label.values())] == []


def test_the_id_of_every_rule_is_its_path():
    assert set(RULE_FILES) == set(RULES.rules)
    assert [name for name, rule in RULES.rules.items() if rule.id != name] == []


def ids_nobody_can_type(ids: Any) -> list[str]:
    return [
        f"{one}: rename the file. An id has lower-case words, digits, - and _ between dots."
        for one in ids
        if not re.fullmatch(r"[a-z][a-z0-9_-]*(\.[a-z0-9][a-z0-9_-]*)+", one)
    ]


def test_every_id_can_be_typed():
    assert ids_nobody_can_type(RULES.rules) == []


@pytest.mark.parametrize("bad", ["us", "us.Federal", "us.a rule", "us..a", "us.a."])
def test_an_id_nobody_can_type_is_found(bad):
    assert len(ids_nobody_can_type(["us.federal.stroke", bad])) == 1


# -- conditions


def conditions_that_breach_nothing_there_is(rule_set: Any) -> list[str]:
    return [
        f"conditions.{name}: there is no rule '{rule}' on a condition. Correct the id in `breaches`."
        for name, condition in rule_set.conditions.items()
        for rule in condition.breaches
        if rule not in rule_set.rules or rule_set.rules[rule].quantity != "condition"
    ]


def test_every_condition_breaches_rules_that_are_there():
    assert conditions_that_breach_nothing_there_is(RULES) == []


@pytest.mark.parametrize("bad", ["us.federal.nothing", "us.federal.stroke"])
def test_a_condition_that_breaches_no_rule_on_conditions_is_found(bad):
    condition = replace(RULES.conditions["lining_soaked"], breaches=("us.federal.brakes_safe", bad))
    wrong = replace(RULES, conditions={"lining_soaked": condition})
    assert len(conditions_that_breach_nothing_there_is(wrong)) == 1


def rules_on_conditions_that_no_condition_breaches(rule_set: Any) -> list[str]:
    named = {rule for condition in rule_set.conditions.values() for rule in condition.breaches}
    return [
        f"{rule.id}: no condition names it. Add it to `breaches` of the conditions it forbids."
        for rule in rule_set.rules.values()
        if rule.quantity == "condition" and rule.id not in named
    ]


def test_every_rule_on_conditions_is_breached_by_some():
    assert rules_on_conditions_that_no_condition_breaches(RULES) == []


def test_a_rule_on_conditions_that_none_breaches_is_found():
    fewer = replace(RULES, conditions={"none_seen": RULES.conditions["none_seen"]})
    found = rules_on_conditions_that_no_condition_breaches(fewer)
    assert len(found) == sum(rule.quantity == "condition" for rule in RULES.rules.values())


def test_a_condition_breaches_each_rule_once():
    twice = [name for name, one in RULES.conditions.items() if len(set(one.breaches)) != len(one.breaches)]
    assert twice == [], "List each rule once."


def test_looking_and_finding_nothing_breaches_nothing():
    assert RULES.conditions["none_seen"].breaches == ()


# -- the code knows of no rule that is not there


def rule_ids_in_code() -> dict[str, str]:
    """Each text in the code that is shaped like a rule's id, with the file it stands in."""
    places = "|".join(re.escape(place) for place in (*RULES.jurisdictions, "trade"))
    shape = re.compile(rf"(?:{places})(?:\.[a-z0-9_]+)+")
    return {
        node.value: shown(path)
        for path in modules_below(SOURCE)
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and shape.fullmatch(node.value)
    }


def test_every_rule_that_the_code_names_is_there():
    named = rule_ids_in_code()
    assert "us.roadside.share" in named
    assert {rule: path for rule, path in named.items() if rule not in RULES.rules} == {}, "Rename it in the code."
