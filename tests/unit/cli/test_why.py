"""`treadle why`: a rule, its figures, its source, on a day."""

import json

import pytest

from treadle.rules.load import shipped

RULE = "us.annual.lining.other_drum"
"""A rule with two values: one from 5 September 2012, and one from 14 October 2021 on which the first ends."""


def test_a_rule_is_shown_with_its_figure_its_place_and_how_it_is_known(treadle):
    run = treadle("why", "us.federal.lining.steering.air_drum_continuous")
    assert (run.code, run.error) == (0, "")
    for words in ("3/16 in / 4.8 mm", "less than 4.8 mm (3/16 inch)", "49 CFR 393.47(d)(1)", "2005-09-14"):
        assert words in run.output


@pytest.mark.parametrize(
    ("day", "start"),
    [("2012-09-05", "2012-09-05"), ("2021-10-13", "2012-09-05"), ("2021-10-14", "2021-10-14"), (None, "2021-10-14")],
)
def test_the_value_shown_is_that_of_the_day_or_the_latest(day, start, treadle):
    run = treadle("why", RULE, "--json", *(() if day is None else ("--on", day)))
    shown = json.loads(run.output)
    assert (run.code, run.error) == (0, "")
    assert shown["in_force"]["effective_from"] == start
    assert [value["effective_from"] for value in shown["history"]] == ["2012-09-05", "2021-10-14"]


def test_json_holds_everything_about_the_rule(treadle):
    shown = json.loads(treadle("why", RULE, "--json").output)
    rule = shipped().rules[RULE]
    assert (shown["rule"], shown["label"], shown["jurisdiction"]) == (RULE, rule.label["en"], "us")
    assert (shown["layer"], shown["quantity"], shown["place"]) == ("periodic", "lining", "centre")
    assert (shown["comparator"], shown["then"]) == ("breach_if_less_than", "fix")
    assert shown["applies"] == {"steering": False, "brake": ["air_drum", "air_wedge"]}
    (row,) = shown["in_force"]["rows"]
    assert row == {
        "when": {},
        "as_printed": "less than 6.4 mm (1/4 inch)",
        "figures": ["1/4 in", "6.4 mm"],
        "basis": "found",
    }
    assert shown["in_force"]["source"]["key"] == "cfr-49-396-a"


def test_on_a_day_before_the_rule_it_says_so_and_ends_with_2(treadle):
    for options in ((), ("--json",)):
        run = treadle("why", RULE, "--on", "2012-09-04", *options)
        assert (run.code, run.output) == (2, "")
        assert all(words in run.error for words in (RULE, "2012-09-04", "2012-09-05"))


def test_an_unknown_rule_ends_with_2_and_says_where_all_are_named(treadle):
    run = treadle("why", "us.federal.strokes")
    assert (run.code, run.output) == (2, "")
    assert "us.federal.strokes" in run.error
    assert "treadle why --list" in run.error


def test_a_day_that_is_none_ends_with_2(treadle):
    run = treadle("why", RULE, "--on", "soon")
    assert (run.code, run.output) == (2, "")


@pytest.mark.parametrize("arguments", [("why",), ("why", "--list"), ("why", RULE, "--list")])
def test_every_rule_is_named(arguments, treadle):
    run = treadle(*arguments)
    assert run.code == 0
    listed = run.output.split()
    assert [rule for rule in shipped().rules if rule not in listed] == []


@pytest.mark.parametrize("rule", sorted(shipped().rules))
def test_every_rule_can_be_shown(rule, treadle):
    for options in ((), ("--language", "es")):
        run = treadle("why", rule, *options)
        assert (run.code, run.error) == (0, "")
        assert rule in run.output


def test_a_rule_is_shown_in_the_language_asked_for(treadle):
    english, spanish = treadle("why", RULE, "--json"), treadle("why", RULE, "--json", "-l", "es")
    assert json.loads(spanish.output)["label"] == shipped().rules[RULE].label["es"]
    assert english.output != spanish.output
