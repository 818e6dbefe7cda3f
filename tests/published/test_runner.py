"""The runner can fail: a wrong expectation, a case that expects nothing and a misspelt field are all caught."""

from __future__ import annotations

import copy

import pytest
from published.rig import UNIT, CaseFault, Row, count_file, entries, file_of
from published.verdicts import amount, count_differences, differences, findings_looked_at, is_breach, report

CASE: Row = {
    "name": "an invented case",
    "on": "2026-10-02",
    "reading": {"kind": "applied_stroke"},
    "given": [{"value": "2 1/64 in", "expect": {}}],
    "proof": {"source": "49 CFR 393.47(e)", "mark": "secondary", "tolerance": "exact"},
}


def finding(outcome: str, layer: str, **fields: object) -> Row:
    ours = {"unit": UNIT, "axle": 2, "side": "left", "outcome": outcome, "layer": layer, "jurisdiction": "us"}
    numbers = {"measured": "2 1/64 in", "limit": "2 in", "excess": "1/64 in"}
    rest = {"rule": "a.rule", "basis": "secondary", "unconfirmed": False, "missing": [], "code": "past_limit"}
    return {**ours, **numbers, **rest, "citation": "49 CFR 393.47(e)", **fields}


def assessment(*findings: Row, end: str = "fix") -> Row:
    ends = [{"side": "left", "outcome": end}, {"side": "right", "outcome": "good"}]
    axles = [{"axle": number, "outcome": end if number == 2 else "good", "wheel_ends": ends} for number in (1, 2, 3)]
    counted = [{"unit": UNIT, "axle": 2, "side": "left", "halves": 1, "rules": []}]
    return {
        "occasion": "service",
        "units": [{"number": UNIT, "outcome": end, "axles": axles}],
        "combinations": [{"units": [UNIT], "outcome": end, "halves": 1, "brakes": 6, "counted": counted}],
        "findings": list(findings),
        "not_judged": [],
    }


def entry(expect: Row, **fields: object) -> Row:
    case = copy.deepcopy(CASE)
    case["given"][0] |= {"expect": expect, **fields}
    return entries(case)[0]


PAST = finding("fix", "operate")
ANNUAL = finding("watch", "periodic", citation="Appendix A to Part 396, 1.a.(5)")
NEAR = finding("watch", "operate", excess="-1/64 in", code="near_limit")
UNSEEN = finding("unseen", "operate", limit=None, excess=None, missing=["applied_stroke"])
IDENTIFY = finding("watch", "operate", limit=None, excess=None, missing=["stroke_class"])

RIGHT = [
    ({"end": "fix", "axle": "fix", "unit": "fix", "operate": "breach", "periodic": "breach"}, [PAST, ANNUAL]),
    ({"operate": "breach", "periodic": "within", "roadside": "no_breach", "halves": 1}, [PAST]),
    ({"operate": "within", "unseen_findings": 0}, [NEAR]),
    ({"operate": "within"}, [IDENTIFY]),
    ({"operate": "open", "periodic": "open", "roadside": "no_breach", "unseen_findings": 1}, [UNSEEN]),
]
WRONG = [
    ({"end": "watch"}, [PAST]),
    ({"axle": "good"}, [PAST]),
    ({"unit": "hold"}, [PAST]),
    ({"operate": "within"}, [PAST]),
    ({"operate": "no_breach"}, [PAST]),
    ({"operate": "open"}, [PAST]),
    ({"operate": "breach"}, [NEAR]),
    ({"operate": "breach"}, [IDENTIFY]),
    ({"operate": "breach"}, [UNSEEN]),
    ({"operate": "within"}, [UNSEEN]),
    ({"operate": "open"}, []),
    ({"periodic": "within"}, [PAST, ANNUAL]),
    ({"halves": 2}, [PAST]),
    ({"halves": 0}, [PAST]),
    ({"unseen_findings": 0}, [UNSEEN]),
    ({"unseen_findings": 1}, [PAST]),
]


@pytest.mark.parametrize(("expect", "findings"), RIGHT)
def test_a_right_expectation_passes(expect, findings):
    assert differences(entry(expect), assessment(*findings)) == []


@pytest.mark.parametrize(("expect", "findings"), WRONG)
def test_a_wrong_expectation_is_caught_in_one_sentence(expect, findings):
    assert len(differences(entry(expect), assessment(*findings))) == 1


@pytest.mark.parametrize(
    "wanted",
    [
        {"outcome": "hold"},
        {"layer": "periodic"},
        {"limit": "2 1/4 in"},
        {"limit": "50.8 mm"},
        {"limit": "none"},
        {"excess": "1/32 in"},
        {"excess": "-1/64 in"},
        {"basis": "memory"},
        {"unconfirmed": True},
        {"citation": ["393.47(d)"]},
        {"missing": ["stroke_class"]},
        {"layer": "operate", "limit": "2 in", "basis": "found"},
    ],
)
def test_a_finding_that_differs_in_one_field_is_not_the_one_expected(wanted):
    seen = assessment(PAST)
    assert differences(entry({"end": "fix"}, findings=[{"layer": "operate", "excess": "0.015625 in"}]), seen) == []
    assert len(differences(entry({"end": "fix"}, findings=[wanted]), seen)) == 1


def test_findings_of_another_end_or_jurisdiction_do_not_count():
    elsewhere = [finding("fix", "operate", side="right"), finding("fix", "operate", axle=1)]
    abroad = finding("fix", "operate", jurisdiction="ca-qc")
    assert len(differences(entry({"operate": "breach"}), assessment(*elsewhere, abroad))) == 1
    assert differences(entry({"operate": "breach"}, look="anywhere"), assessment(*elsewhere)) == []


def test_a_fix_at_the_figure_itself_is_a_breach_and_a_watch_there_is_not():
    assert is_breach(finding("fix", "operate", excess="0 in"))
    assert not is_breach(finding("watch", "operate", excess="0 in"))


COUNT: Row = {
    "name": "an invented count",
    "on": "2026-10-02",
    "combination": [{"number": UNIT, "kind": "truck", "axles": 3}],
    "defects": [{"at": f"{UNIT} 2 left", "stroke": "2 1/64 in"}],
    "proof": CASE["proof"],
}


@pytest.mark.parametrize(
    ("expect", "caught"),
    [
        ({"outcome": "fix", "halves": 1, "brakes": 6, "units": {UNIT: "fix"}, "unconfirmed": False}, 0),
        ({"outcome": "hold"}, 1),
        ({"halves": 2}, 1),
        ({"brakes": 4}, 1),
        ({"units": {UNIT: "hold"}}, 1),
        ({"unconfirmed": True}, 1),
    ],
)
def test_a_wrong_count_is_caught(expect, caught):
    assert len(count_differences({**COUNT, "expect": expect}, assessment(PAST))) == caught


def test_a_case_that_expects_nothing_is_refused():
    with pytest.raises(CaseFault, match="expects nothing"):
        differences(entry({}), assessment(PAST))


@pytest.mark.parametrize("expect", [{"operat": "breach"}, {"operate": "breech"}, {"end": "fine"}])
def test_a_misspelt_expectation_is_refused(expect):
    with pytest.raises(CaseFault):
        differences(entry(expect), assessment(PAST))


def test_a_misspelt_field_is_refused():
    with pytest.raises(CaseFault, match="vlaue"):
        entry({"end": "fix"}, vlaue="2 in")


def test_leaving_out_what_is_not_there_is_refused():
    with pytest.raises(CaseFault, match="no clean reading"):
        file_of(entry({"end": "fix"}, without={"kind": "running_clearance"}))


def test_a_reading_replaces_the_clean_one_of_its_place_and_no_other():
    clean = file_of(entry({"end": "fix"}, kind="applied_stroke", value="1 in"))["readings"]
    given = file_of(entry({"end": "fix"}))["readings"]
    place = {"unit": UNIT, "axle": 2, "side": "left", "kind": "applied_stroke"}
    assert [row for row in given if row not in clean] == [{**place, "value": "2 1/64 in"}]
    assert [row for row in clean if row not in given] == [{**place, "value": "1 in"}]


def test_a_defect_of_a_count_replaces_the_clean_reading_of_its_end():
    rows = count_file({**COUNT, "expect": {"halves": 1}})["readings"]
    strokes = [row["value"] for row in rows if row["kind"] == "applied_stroke"]
    assert sorted(strokes) == ["1 in"] * 5 + ["2 1/64 in"]


def test_a_quantity_is_compared_exactly_however_it_is_written():
    assert amount("2 1/4 in") == amount("2.25 in")
    assert amount("-1/64 in") != amount("1/64 in")
    assert amount("50.8 mm") != amount("2 in")


def test_a_failure_says_claim_given_difference_finding_and_proof():
    case, seen = entry({"end": "watch"}), assessment(PAST)
    text = report(case, differences(case, seen), seen, findings_looked_at(case, seen))
    for words in ("an invented case", "2 1/64 in", "expected watch, was fix", "a.rule", "49 CFR 393.47(e)"):
        assert words in text
