"""`treadle judge`: which files it takes, what it prints where, and the code it ends with."""

import json
import sys
from types import SimpleNamespace

import pytest
from unit.as_tables import csv_texts, grids_of, workbook

from treadle.assess.file_model import AssessmentFile
from treadle.cli.show import mark
from treadle.rules.load import shipped
from treadle.rules.model import OUTCOMES
from treadle.words import say

STEER_9 = {"design": "clamp", "type": "9", "stroke_class": "standard", "rated_stroke": "1.75 in"}


def set_values(raw, kind, value):
    for row in raw["readings"]:
        if row["kind"] == kind:
            row["value"] = value


def assessment_of(run):
    """What a run printed, which must be an assessment and nothing else."""
    assert run.error == ""
    printed = json.loads(run.output)
    AssessmentFile.model_validate(printed)
    return printed


# -- exit codes


def test_good_ends_with_0(treadle, walk):
    run = treadle("judge", walk, "--json")
    assert (run.code, assessment_of(run)["outcome"]) == (0, "good")


SPOILED = {
    "watch": (0, lambda raw: set_values(raw, "applied_stroke", "1 5/8 in")),
    "unseen": (1, lambda raw: raw["readings"].pop(0)),
    "fix": (1, lambda raw: raw["units"][0]["axles"][1]["adjuster"].update(kind="manual")),
    "hold": (1, lambda raw: set_values(raw, "applied_stroke", "2 1/2 in")),
}


@pytest.mark.parametrize("outcome", SPOILED)
@pytest.mark.parametrize("options", [(), ("--json",)])
def test_what_may_not_leave_ends_with_1_and_what_may_with_0(outcome, options, clean, file_of, treadle):
    code, spoil = SPOILED[outcome]
    spoil(clean)
    run = treadle("judge", file_of(clean), *options)
    assert run.code == code
    if options:
        assert assessment_of(run)["outcome"] == outcome
    else:
        assert say(f"outcome.means.{outcome}") in run.output


def test_input_that_cannot_be_used_ends_with_2_and_prints_nothing_but_why(clean, file_of, treadle):
    clean["readings"][0]["value"] = "1 1/4"
    for options in ((), ("--json",)):
        run = treadle("judge", file_of(clean), *options)
        assert (run.code, run.output) == (2, "")
        assert "readings[0].value (K-12, axle 1, left, applied_stroke)" in run.error
        assert "'1 1/4'" in run.error


def test_every_fault_of_the_file_is_said_on_a_line_of_its_own(clean, file_of, treadle):
    clean["readings"][0]["value"] = "1 1/4"
    clean["units"][0]["built"] = "2019-13"
    run = treadle("judge", file_of(clean))
    assert (run.code, run.output, len(run.error.splitlines())) == (2, "", 2)


@pytest.mark.parametrize("fault", [RuntimeError("the disk is on fire"), KeyError("unit")])
def test_a_fault_of_treadles_own_ends_with_3_and_says_so(fault, walk, treadle, monkeypatch):
    def broken():
        raise fault

    monkeypatch.setattr("treadle.cli.app.shipped", broken)
    run = treadle("judge", walk, "--json")
    assert (run.code, run.output) == (3, "")
    assert run.error.startswith(f"Treadle itself failed: {type(fault).__name__}")


def test_a_broken_data_file_ends_with_3_and_its_message(walk, treadle, monkeypatch):
    monkeypatch.setattr("treadle.cli.app.shipped", lambda: say("no.such.sentence"))
    run = treadle("judge", walk)
    assert (run.code, run.output) == (3, "")
    assert run.error == "words/en: there is no sentence 'no.such.sentence'. Add it in every language.\n"


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("absent.json", None, "No such file"),
        ("absent.odt", None, "no such file"),
        ("walk.odt", b"", "'.odt'"),
        ("walk", b"", "'walk'"),
        ("walk.json", b"\xff\xfe{}", "not UTF-8"),
        ("walk.json", b"{", "not JSON"),
        ("walk.json", b"[]", "[]"),
        ("walk.xlsx", b"torn", "walk.xlsx"),
    ],
)
def test_a_file_that_cannot_be_read_ends_with_2(name, content, said, tmp_path, treadle):
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    run = treadle("judge", path, "--json")
    assert (run.code, run.output) == (2, "")
    assert said in run.error
    assert name in run.error or run.error.startswith("file: ")


@pytest.mark.parametrize(
    "arguments",
    [
        ("judge",),
        ("judge", "walk.json", "--colour", "red"),
        ("judge", "walk.json", "--occasion", "yearly"),
        ("judge", "walk.json", "--language", "la"),
        ("judge", "walk.json", "--paper", "a3"),
        ("adjudicate", "walk.json"),
    ],
)
def test_a_command_line_that_cannot_be_used_ends_with_2(arguments, treadle):
    run = treadle(*arguments)
    assert (run.code, run.output) == (2, "")
    assert run.error


# -- the three kinds of file


def test_a_workbook_is_judged_as_the_json_file_is(clean, walk, treadle, tmp_path):
    path = tmp_path / "walk.xlsx"
    path.write_bytes(workbook(grids_of(clean)))
    assert treadle("judge", path, "--json") == treadle("judge", walk, "--json")


def folder_of(raw, path):
    path.mkdir()
    for name, text in csv_texts(grids_of(raw)).items():
        (path / f"{name}.csv").write_text(text, encoding="utf-8-sig", newline="")
    return path


def test_a_folder_of_csv_tables_is_judged_as_the_json_file_is(clean, walk, treadle, tmp_path):
    assert treadle("judge", folder_of(clean, tmp_path / "walk"), "--json") == treadle("judge", walk, "--json")


@pytest.mark.parametrize("table", ["units", "wheel_ends", "readings"])
def test_a_folder_without_one_of_its_tables_ends_with_2_and_names_the_file(table, clean, treadle, tmp_path):
    folder = folder_of(clean, tmp_path / "walk")
    (folder / f"{table}.csv").unlink()
    run = treadle("judge", folder)
    assert (run.code, run.output) == (2, "")
    assert f"{table}.csv" in run.error


def test_a_cell_that_cannot_be_used_is_named_by_its_row(clean, treadle, tmp_path):
    clean["readings"][2]["value"] = "3/4"
    run = treadle("judge", folder_of(clean, tmp_path / "walk"))
    assert (run.code, run.output) == (2, "")
    assert "readings row 4, column value" in run.error


def test_a_byte_order_mark_before_a_json_file_says_nothing(walk, treadle):
    plain = treadle("judge", walk, "--json")
    walk.write_bytes(b"\xef\xbb\xbf" + walk.read_bytes())
    assert treadle("judge", walk, "--json") == plain


# -- the day and the occasion


def test_the_day_is_the_local_one_on_which_it_was_taken(clean, file_of, treadle):
    clean["taken"]["at"] = "2026-10-02T23:30:00-06:00"  # already the third by the clock of Greenwich
    assert assessment_of(treadle("judge", file_of(clean), "--json"))["on"] == "2026-10-02"


def test_another_day_may_be_asked_for(walk, treadle):
    assert assessment_of(treadle("judge", walk, "--json", "--on", "2021-03-31"))["on"] == "2021-03-31"


def test_on_a_day_before_the_rules_nothing_is_good(walk, treadle):
    run = treadle("judge", walk, "--json", "--on", "1999-01-01")
    assert (run.code, assessment_of(run)["outcome"]) == (1, "unseen")


@pytest.mark.parametrize("day", ["yesterday", "2026-13-01", "02/10/2026", ""])
def test_a_day_that_is_none_ends_with_2(day, walk, treadle):
    run = treadle("judge", walk, "--json", "--on", day)
    assert (run.code, run.output) == (2, "")
    assert run.error.startswith("--on: ")


def test_another_occasion_needs_what_it_needs(walk, treadle):
    run = treadle("judge", walk, "--json", "--occasion", "periodic")
    printed = assessment_of(run)
    assert (run.code, printed["occasion"], printed["outcome"]) == (1, "periodic", "unseen")
    assert {"build_up", "low_air_warning"} <= {word for one in printed["findings"] for word in one["missing"]}


def test_the_occasion_of_tables_may_be_given_at_the_door(clean, treadle, tmp_path):
    run = treadle("judge", folder_of(clean, tmp_path / "walk"), "--json", "--occasion", "roadside")
    assert assessment_of(run)["occasion"] == "roadside"


# -- the shop's files


def test_the_shops_policy_is_applied(walk, file_of, treadle):
    policy = file_of(
        {
            "treadle": "policy/1",
            "unseen_blocks": {"service": False},
            "rules": [{"quantity": "lining", "breach_if_less_than": "7/8 in", "then": "fix"}],
        },
        "policy.json",
    )
    run = treadle("judge", walk, "--json", "--policy", policy)
    printed = assessment_of(run)
    assert (run.code, printed["outcome"], printed["unseen_blocks"]) == (1, "fix", False)
    assert {one["layer"] for one in printed["findings"] if one["outcome"] == "fix"} == {"policy"}


def test_a_policy_looser_than_the_law_ends_with_2_and_names_the_law(walk, file_of, treadle):
    rule = {"quantity": "applied_stroke", "breach_if_more_than": "3 in"}
    policy = file_of({"treadle": "policy/1", "rules": [rule]}, "policy.json")
    run = treadle("judge", walk, "--json", "--policy", policy)
    assert (run.code, run.output) == (2, "")
    assert "us.federal.stroke" in run.error


def test_limits_the_shop_has_confirmed_are_confirmed_beside_its_policy(clean, file_of, treadle):
    clean["units"][0]["axles"][0]["chamber"] = STEER_9
    walk = file_of(clean)
    ids = ("us.federal.stroke", "us.annual.stroke", "us.roadside.stroke")
    limits = [{"rule": one, "edition": "2025", "by": "R. Quill", "on": "2026-09-01"} for one in ids]
    confirmed = file_of({"treadle": "confirmed/1", "limits": limits}, "confirmed.json")
    policy = file_of({"treadle": "policy/1"}, "policy.json")
    outcomes = [
        assessment_of(treadle("judge", walk, "--json", *options))["outcome"]
        for options in ((), ("--confirmed", confirmed), ("--policy", policy, "--confirmed", confirmed))
    ]
    assert outcomes == ["watch", "good", "good"]


def test_confirming_does_not_undo_the_policy(walk, file_of, treadle):
    rule = {"quantity": "lining", "breach_if_less_than": "7/8 in", "then": "fix"}
    policy = file_of({"treadle": "policy/1", "age": {"days": 5}, "rules": [rule]}, "policy.json")
    confirmed = file_of({"treadle": "confirmed/1", "limits": []}, "confirmed.json")
    alone = treadle("judge", walk, "--json", "--policy", policy)
    assert alone.code == 1
    assert treadle("judge", walk, "--json", "--policy", policy, "--confirmed", confirmed) == alone


@pytest.mark.parametrize("option", ["--policy", "--confirmed"])
@pytest.mark.parametrize("content", [None, "{", '{"treadle": "walkaround/1"}'])
def test_a_shop_file_that_cannot_be_used_ends_with_2(option, content, walk, treadle, tmp_path):
    path = tmp_path / "shop.json"
    if content is not None:
        path.write_text(content, encoding="utf-8")
    run = treadle("judge", walk, "--json", option, path)
    assert (run.code, run.output) == (2, "")
    assert run.error


# -- what is printed


@pytest.mark.parametrize("how", ["option", "environment"])
def test_sentences_are_in_the_language_asked_for(how, clean, file_of, treadle, monkeypatch):
    set_values(clean, "applied_stroke", "2 1/2 in")
    path = file_of(clean)
    english = assessment_of(treadle("judge", path, "--json"))
    if how == "environment":
        monkeypatch.setenv("TREADLE_LANGUAGE", "es")
    spanish = assessment_of(treadle("judge", path, "--json", *(("--language", "es") if how == "option" else ())))
    assert [one["code"] for one in english["findings"]] == [one["code"] for one in spanish["findings"]]
    assert all(
        one["says"] != other["says"] for one, other in zip(english["findings"], spanish["findings"], strict=True)
    )


def test_a_refusal_is_in_the_language_asked_for(clean, file_of, treadle):
    clean["readings"][0]["value"] = "1 1/4"
    path = file_of(clean)
    english, spanish = treadle("judge", path), treadle("judge", path, "-l", "es")
    assert (english.code, spanish.code, spanish.output) == (2, 2, "")
    assert english.error != spanish.error
    assert "'1 1/4'" in spanish.error


@pytest.mark.parametrize("language", ["en", "es"])
def test_a_person_is_told_outcome_number_rule_and_caution(language, clean, file_of, treadle):
    set_values(clean, "applied_stroke", "2 1/2 in")
    run = treadle("judge", file_of(clean), "--language", language)
    assert run.error == ""
    for words in (
        say("outcome.hold", language),
        say("outcome.means.hold", language),
        "2 1/2 in",
        "1 3/4 in",
        "393.47(e)",
        shipped().edition,
        say("cli.caution", language)[:40],
    ):
        assert words in run.output


def test_the_assessment_carries_the_edition_of_the_rules(walk, treadle):
    assert assessment_of(treadle("judge", walk, "--json"))["edition"] == shipped().edition


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_mark_is_one_that_the_terminal_has_the_character_for(outcome, monkeypatch):
    for encoding in ("utf-8", "ascii", None):
        monkeypatch.setattr(sys, "stdout", SimpleNamespace(encoding=encoding))
        made = mark(outcome)
        assert len(made) == 1
        assert made.isascii() is (encoding != "utf-8")


# -- reports


REPORTS = {"--pdf": b"%PDF", "--html": b"<!", "--csv": b"outcome,", "--xlsx": b"PK"}


@pytest.mark.parametrize(("option", "start"), REPORTS.items())
def test_a_report_is_written_where_asked_and_named(option, start, walk, treadle, tmp_path):
    path = tmp_path / f"report.{option[2:]}"
    run = treadle("judge", walk, option, path)
    assert run.code == 0
    assert path.read_bytes().lower().startswith(start.lower())
    assert path.name in run.output.replace("\n", "")


def test_with_json_a_report_is_written_and_nothing_but_json_printed(walk, treadle, tmp_path):
    path = tmp_path / "report.csv"
    assert assessment_of(treadle("judge", walk, "--json", "--csv", path))["outcome"] == "good"
    assert path.exists()


@pytest.mark.parametrize("option", REPORTS)
def test_a_report_that_cannot_be_written_ends_with_2_and_names_its_place(option, walk, treadle, tmp_path):
    path = tmp_path / "no_such_folder" / "report"
    run = treadle("judge", walk, "--json", option, path)
    assert (run.code, run.output) == (2, "")
    assert str(path) in run.error


def test_no_report_is_written_of_a_file_that_cannot_be_used(clean, file_of, treadle, tmp_path):
    clean["readings"][0]["value"] = "1 1/4"
    path = tmp_path / "report.csv"
    assert treadle("judge", file_of(clean), "--csv", path).code == 2
    assert not path.exists()
