"""The tests of the table of words: each accepts its own subject and no other, and no line of it is wrong or dead."""

from __future__ import annotations

import fnmatch
import tomllib
from importlib.resources import files

import pytest
from acceptance.about import SUBJECTS, words_about
from acceptance.compare import disagreements

SAMPLES = {
    "stroke": {"rule": "us.federal.stroke", "code": "over"},
    "lining": {"rule": "us.annual.lining.other_drum", "code": "under"},
    "drum": {"rule": "us.federal.drum_size", "code": "over"},
    "match": {"rule": "us.federal.chamber_match", "code": "forbidden"},
    "condition": {"rule": "us.federal.brakes_safe", "code": "forbidden"},
    "chamber": {"rule": "us.federal.stroke", "code": "identify_chamber"},
    "pressure": {"rule": "us.federal.stroke", "code": "unseen_wrong_pressure"},
    "leak": {"rule": "us.driver_test.leak_applied.two_units", "code": "over"},
    "parking": {"rule": "us.federal.parking_hold", "code": "forbidden"},
    "count": {"rule": "us.roadside.share", "code": "count_over"},
}


@pytest.mark.parametrize("word", SUBJECTS)
def test_a_word_accepts_its_own_subject_and_no_other(word):
    assert SAMPLES.keys() == SUBJECTS.keys()
    accepted = [other for other, sample in SAMPLES.items() if not disagreements({"about": word}, sample)]
    assert accepted == [word]


@pytest.mark.parametrize(
    ("finding", "words"),
    [
        ({"code": "missing", "missing": ["applied_stroke"]}, {"stroke"}),
        ({"code": "missing", "missing": ["lining", "lower"]}, {"lining"}),
        ({"code": "missing", "missing": ["condition"]}, {"condition"}),
        ({"code": "missing", "missing": ["parking_hold"]}, {"parking"}),
        ({"code": "missing", "missing": ["low_air_warning"]}, {"pressure"}),
        ({"code": "missing", "missing": ["air_loss", "applied"]}, {"leak"}),
        ({"code": "missing", "missing": ["rated_stroke"], "args": {"kind": "applied_stroke"}}, {"stroke"}),
        ({"code": "unseen_in_doubt", "args": {"kind": "lining"}}, {"lining"}),
        ({"code": "count_open", "rule": None}, {"count"}),
        ({"code": "over", "rule": "us.federal.stroke_of_luck"}, set()),
        ({"code": "over", "rule": "us.federal.lining.wear_mark"}, set()),
        ({"code": "over", "rule": "shop.stroke", "args": {"kind": "applied_stroke"}}, set()),
        ({"code": "missing", "missing": ["build_up"], "args": {"kind": "build_up"}}, set()),
        ({}, set()),
    ],
)
def test_the_table_knows_what_a_finding_is_about(finding, words):
    assert words_about(finding) == words


QUANTITIES = {
    "applied_stroke": "stroke",
    "lining": "lining",
    "drum_diameter": "drum",
    "axle_match": "match",
    "condition": "condition",
    "low_air_warning": "pressure",
    "air_loss": "leak",
    "parking_hold": "parking",
    "share": "count",
}


def rules_shipped(folder, prefix=""):
    """Id and quantity of every rule; the published list of conditions beside them holds no rules."""
    for entry in folder.iterdir():
        if entry.is_dir() and prefix + entry.name != "conditions":
            yield from rules_shipped(entry, f"{prefix}{entry.name}.")
        elif entry.name.endswith(".toml"):
            rule = tomllib.loads(entry.read_text(encoding="utf-8"))
            yield prefix + entry.name.removesuffix(".toml"), rule["quantity"]


def wrong_lines(rules):
    """What is wrong with the table beside the rules, id to quantity: a rule under a strange word, a dead line."""
    strange = [
        f"{rule} is about {quantity} and not about {word}"
        for rule, quantity in rules.items()
        for word in words_about({"rule": rule}) - {QUANTITIES.get(quantity)}
    ]
    lines = [line for subject in SUBJECTS.values() for line in subject.rules]
    return strange + [f"{line} names no rule" for line in lines if not fnmatch.filter(rules, line)]


def test_the_table_puts_no_rule_under_a_strange_word_and_has_no_dead_line():
    assert wrong_lines(dict(rules_shipped(files("treadle.rules") / "data"))) == []


def test_a_rule_under_a_strange_word_and_a_dead_line_are_found():
    rules = dict(rules_shipped(files("treadle.rules") / "data"))
    del rules["us.federal.drum_size"]
    rules["us.federal.stroke"] = "lining"
    assert wrong_lines(rules) == [
        "us.federal.stroke is about lining and not about stroke",
        "us.federal.drum_size names no rule",
    ]
