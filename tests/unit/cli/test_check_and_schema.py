"""`treadle check` counts what is held; `treadle schema` prints a file's schema."""

import json

import pytest

from treadle.assess.file_model import assessment_schema
from treadle.fleet.file_model import walkaround_schema
from treadle.rules.load import shipped
from treadle.sources import bibliography
from treadle.words import LANGUAGES, catalogue, say


def test_check_counts_rules_conditions_sources_and_sentences(treadle):
    run = treadle("check", "--json")
    assert (run.code, run.error) == (0, "")
    report = json.loads(run.output)
    rules = shipped()
    assert (report["edition"], report["rules"], report["conditions"]) == (
        rules.edition,
        len(rules.rules),
        len(rules.conditions),
    )
    assert report["sources"] == len(bibliography())
    assert report["sentences"] == {language: len(catalogue(language)) for language in LANGUAGES}


def test_every_figure_is_counted_under_how_it_is_known(treadle):
    report = json.loads(treadle("check", "--json").output)
    assert sum(report["basis"].values()) == report["figures"] >= report["values"] > report["rules"] > 0


@pytest.mark.parametrize("language", ["en", "es"])
def test_check_tells_a_person_the_edition(language, treadle):
    run = treadle("check", "--language", language)
    assert run.code == 0
    assert shipped().edition in run.output


def test_check_of_broken_data_ends_with_3_and_names_the_fault(treadle, monkeypatch):
    monkeypatch.setattr("treadle.cli.checks.shipped", lambda: say("no.such.sentence"))
    run = treadle("check")
    assert (run.code, run.output) == (3, "")
    assert "no.such.sentence" in run.error


@pytest.mark.parametrize(("name", "schema"), [("walkaround", walkaround_schema), ("assessment", assessment_schema)])
def test_a_schema_is_printed_as_json_and_nothing_else(name, schema, treadle):
    run = treadle("schema", name)
    assert (run.code, run.error) == (0, "")
    assert json.loads(run.output) == schema()


def test_a_schema_of_no_file_of_ours_ends_with_2(treadle):
    run = treadle("schema", "invoice")
    assert (run.code, run.output) == (2, "")
