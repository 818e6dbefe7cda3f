"""Every published case: a walk-around built from it is judged, and the verdict compared with the one published.

What a case may say stands in README.md beside this file; the cases themselves are the TOML files.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from published.rig import SIDES, Fields, Row, count_file, entries, file_of
from published.verdicts import amount, count_differences, differences, findings_looked_at, report

from treadle.assess import assess, vocabulary
from treadle.fleet.read import Vocabulary, records_from
from treadle.rules.load import RuleSet, shipped

HERE = Path(__file__).parent
PROOF_FIELDS = {"source", "mark", "tolerance"}
MARKS = {"found", "secondary", "derived", "chosen", "practice", "memory", "contract"}
GROWS_PAST_THE_LIMIT = {"applied_stroke", "rod_applied", "drum_diameter"}
SHRINKS_PAST_THE_LIMIT = {"lining", "rotor_thickness"}


def published(form: str) -> Iterator[tuple[str, Row]]:
    for path in sorted(HERE.glob("*.toml")):
        for case in tomllib.loads(path.read_text(encoding="utf-8")).get(form, []):
            yield path.stem, case


def given_cases() -> list[Any]:
    return [
        pytest.param(entry, id=f"{subject}: {entry['name']} [{number}: {in_short(entry)}]")
        for subject, case in published("case")
        for number, entry in enumerate(entries(case), start=1)
    ]


def in_short(entry: Fields) -> str:
    reading = entry["reading"]
    loss = f"{reading['start']} to {reading['end']}" if "start" in reading else None
    said = reading.get("value") or reading.get("special") or loss or entry.get("without", {}).get("kind")
    return f"{said or 'as fitted'}, {entry['occasion']}"


def count_cases() -> list[Any]:
    return [pytest.param(count, id=f"{subject}: {count['name']}") for subject, count in published("count")]


@cache
def law() -> tuple[RuleSet, Vocabulary]:
    rules = shipped()
    return rules, vocabulary(rules)


def judged(file: Row, case: Fields) -> Row:
    rules, words = law()
    return assess(records_from(file, words), rules, on=case["on"]).as_json()


@pytest.mark.parametrize("entry", given_cases())
def test_a_reading_is_judged_as_published(entry):
    assessment = judged(file_of(entry), entry)
    found = differences(entry, assessment)
    assert not found, report(entry, found, assessment, findings_looked_at(entry, assessment))


@pytest.mark.parametrize("count", count_cases())
def test_a_roadside_count_comes_out_as_published(count):
    assessment = judged(count_file(count), count)
    found = count_differences(count, assessment)
    of_the_count = [one for one in assessment["findings"] if one["unit"] is None]
    assert not found, report(count, found, assessment, of_the_count)


@pytest.mark.parametrize("form", ["case", "count"])
def test_every_case_names_its_proof_and_no_two_cases_share_a_name(form):
    cases = [case for _, case in published(form)]
    names = [case["name"] for case in cases]
    assert sorted(names) == sorted(set(names))
    assert {frozenset(case["proof"]) for case in cases} == {frozenset(PROOF_FIELDS)}
    assert {case["proof"]["mark"] for case in cases} <= MARKS
    assert {case["proof"]["tolerance"] for case in cases} == {"exact"}


def test_value_limit_and_excess_of_every_expected_finding_agree():
    wrong = [
        f"{entry['name']}: {entry['reading']['value']} against {finding['limit']} is not {finding['excess']}"
        for _, case in published("case")
        for entry in entries(case)
        for finding in entry.get("findings", [])
        if has_a_difference(entry, finding) and past_the_limit(entry, finding) != amount(finding["excess"])
    ]
    assert wrong == []


def has_a_difference(entry: Fields, finding: Fields) -> bool:
    plain = entry["reading"].get("kind") in GROWS_PAST_THE_LIMIT | SHRINKS_PAST_THE_LIMIT
    return plain and "excess" in finding and "value" in entry["reading"]


def past_the_limit(entry: Fields, finding: Fields) -> tuple[Any, str]:
    reading = entry["reading"]
    (value, unit), (limit, limit_unit) = amount(reading["value"]), amount(finding["limit"])
    assert unit == limit_unit, f"{entry['name']}: {reading['value']} and {finding['limit']} differ in unit"
    for also in entry.get("also", []):
        if also["kind"] == "rod_released":
            value -= amount(also["value"])[0]
    return (value - limit if reading["kind"] in GROWS_PAST_THE_LIMIT else limit - value), unit


@pytest.mark.parametrize("occasion", ["daily", "service", "received", "roadside", "periodic", "after_work"])
def test_the_clean_unit_of_every_case_has_a_reading_at_both_sides_of_every_axle(occasion):
    file = file_of(
        {"name": "clean", "on": "2026-10-02", "occasion": occasion}
        | {"unit": {}, "everywhere": {}, "axle": {}, "taken": {}, "reading": {}}
    )
    ends = {(row["axle"], row["side"]) for row in file["readings"] if "axle" in row}
    assert ends == {(axle, side) for axle in (1, 2, 3) for side in SIDES}
