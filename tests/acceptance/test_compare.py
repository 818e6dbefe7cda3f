"""The comparer's own tests: for each rule of the pairs, something that agrees and something that does not."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest
from acceptance.compare import differences, disagreements, quantity, run_differences
from acceptance.test_about import SAMPLES

PAIRS = Path(__file__).parent / "pairs"


def expected_of(name):
    return json.loads((PAIRS / f"{name}.expected.json").read_text(encoding="utf-8"))


def finding_of(expected):
    """A finding as an assessment has it, with what an expected one says and nothing else."""
    found = {"unit": None, "axle": None, "side": None, "missing": [], "args": {}, "measured": None}
    found |= {key: value for key, value in expected.items() if key not in ("about", "citation")}
    found["citation"] = ", ".join(expected.get("citation", []))
    return found | SAMPLES[expected["about"]]


def assessment_of(expected):
    """The assessment that says what is expected and nothing else."""
    actual = copy.deepcopy({key: expected.get(key) for key in ("on", "occasion", "outcome")})
    actual |= copy.deepcopy({key: expected.get(key, []) for key in ("units", "combinations")})
    return actual | {"findings": [finding_of(finding) for finding in expected.get("findings", [])]}


JUDGED = [
    name
    for path in sorted(PAIRS.glob("*.expected.json"))
    if expected_of(name := path.name.removesuffix(".expected.json"))["exit"] != 2
]

STROKE = {
    "outcome": "fix",
    "unit": "K-4",
    "axle": 2,
    "side": "left",
    "about": "stroke",
    "layer": "operate",
    "jurisdiction": "us",
    "citation": ["393.47(e)"],
    "measured": "2 1/4 in",
    "limit": "2 in",
    "excess": "1/4 in",
    "basis": "secondary",
    "unconfirmed": False,
}
UNSEEN = {
    "outcome": "unseen",
    "unit": "K-4",
    "axle": 1,
    "side": "right",
    "about": "lining",
    "missing": ["lining"],
}
EXPECTED = {
    "on": "2026-10-02",
    "occasion": "service",
    "exit": 1,
    "outcome": "fix",
    "units": [
        {
            "number": "K-4",
            "outcome": "fix",
            "axles": [
                {"axle": 1, "outcome": "unseen", "wheel_ends": [{"side": "right", "outcome": "unseen"}]},
                {"axle": 2, "outcome": "fix", "wheel_ends": [{"side": "left", "outcome": "fix"}]},
            ],
        }
    ],
    "combinations": [
        {
            "units": ["K-4"],
            "outcome": "fix",
            "halves": 2,
            "brakes": 4,
            "counted": [{"unit": "K-4", "axle": 2, "side": "left", "halves": 2}],
        }
    ],
    "findings": [STROKE, UNSEEN],
}


@pytest.fixture
def expected():
    return copy.deepcopy(EXPECTED)


@pytest.fixture
def actual():
    return assessment_of(EXPECTED)


def further(**fields):
    """A finding beyond the expected ones: a hold on its own, unless told otherwise."""
    place = {"unit": "K-4", "axle": 2, "side": "right"}
    return finding_of({"outcome": "hold", "about": "stroke"} | place | fields)


def only(found):
    """The one difference there should be."""
    assert len(found) == 1, found
    return found[0]


# ---- over every pair


@pytest.mark.parametrize("name", JUDGED)
def test_an_assessment_that_says_what_a_pair_expects_agrees(name):
    expected = expected_of(name)
    assert differences(expected, assessment_of(expected), expected["exit"]) == []


@pytest.mark.parametrize("name", JUDGED)
def test_no_value_a_pair_states_can_change_unnoticed(name):
    expected = expected_of(name)
    perfect = assessment_of(expected)
    unnoticed = [
        path for path in stated(expected) if not differences(expected, changed(perfect, path), expected["exit"])
    ]
    assert unnoticed == []


def stated(value, path=()):
    """The path to each single value that an expected file states about the assessment itself."""
    if isinstance(value, dict):
        inner = [(key, part) for key, part in value.items() if key not in ("exit", "exact", "allowed")]
    elif isinstance(value, list) and path[-1] not in ("citation", "missing"):
        inner = list(enumerate(value))
    else:
        return [path]
    return [leaf for key, part in inner for leaf in stated(part, (*path, key))]


def changed(assessment, path):
    """The assessment with one value made another."""
    assessment = copy.deepcopy(assessment)
    *way, last = path
    holder = assessment
    for key in way:
        holder = holder[key]
    if last == "about":
        holder |= {"rule": "us.federal.hose_kept_elsewhere", "code": "over", "args": {}}
    elif last in ("measured", "limit", "excess"):
        holder[last] = "99 in"
    elif last == "missing":
        holder[last] = holder[last][:-1]
    elif last == "outcome":
        holder[last] = "good" if holder[last] != "good" else "watch"
    elif last == "unconfirmed":
        holder[last] = not holder[last]
    else:
        holder[last] = "another"
    return assessment


# ---- rule 1: left out and null


def test_a_key_left_out_is_not_compared(expected, actual):
    del expected["outcome"], expected["units"][0]["outcome"], expected["combinations"][0]["outcome"]
    actual |= {"outcome": "good"}
    actual["units"][0]["outcome"] = actual["combinations"][0]["outcome"] = "good"
    assert differences(expected, actual, 1) == []


def test_a_key_that_is_given_is_compared(expected, actual):
    actual["outcome"] = "good"
    assert "expected 'fix', found 'good'" in only(differences(expected, actual, 1))


@pytest.mark.parametrize("key", ["side", "measured", "missing", "citation", "basis"])
def test_null_means_that_nothing_is_there(key):
    nothing = {"outcome": "fix", key: None}
    something = {"measured": "2 in", "missing": ["lining"], "citation": "393.47(e)"}.get(key, "left")
    assert disagreements(nothing, {"outcome": "fix"}) == []
    assert disagreements(nothing, {"outcome": "fix", key: None}) == []
    assert key in only(disagreements(nothing, {"outcome": "fix", key: something}))


def test_null_accepts_an_empty_list_of_what_is_missing_but_no_false():
    assert disagreements({"missing": None}, {"missing": []}) == []
    assert "unconfirmed" in only(disagreements({"unconfirmed": None}, {"unconfirmed": False}))


# ---- rule 2: exit codes and refusals


def test_the_exit_code_is_compared(expected, actual):
    assert differences(expected, actual, 1) == []
    assert only(differences(expected, actual, 0)) == "exit code: expected 1, found 0"


@pytest.mark.parametrize("code", [0, 1])
def test_where_no_exit_is_given_any_assessment_will_do(expected, actual, code):
    del expected["exit"]
    assert differences(expected, actual, code) == []


@pytest.mark.parametrize("code", [2, 3])
def test_where_no_exit_is_given_there_must_still_be_an_assessment(expected, actual, code):
    del expected["exit"]
    assert f"expected 0 or 1, found {code}" in only(differences(expected, actual, code))


REFUSAL = {"exit": 2, "stderr_mentions": ["D-3", "axle"]}


def test_a_refusal_agrees_that_names_what_is_wrong_case_aside():
    said = "Unit D-3 has no AXLE 2"
    assert run_differences(REFUSAL, 2, standard_output="", standard_error=said) == []


@pytest.mark.parametrize(
    ("code", "output", "error", "difference"),
    [
        (1, "", "d-3 axle", "exit code: expected 2, found 1"),
        (2, "{}", "d-3 axle", "standard output: expected nothing"),
        (2, "\n", "d-3 axle", "standard output: expected nothing"),
        (2, "", "d-3", "does not mention 'axle': d-3"),
    ],
)
def test_a_refusal_differs_in_code_output_or_what_it_names(code, output, error, difference):
    assert difference in only(run_differences(REFUSAL, code, standard_output=output, standard_error=error))


@pytest.mark.parametrize("output", ["", "Traceback", "[1]"])
def test_a_run_without_an_assessment_differs_where_one_is_expected(expected, output):
    said = only(run_differences(expected, 3, standard_output=output, standard_error="a fault"))
    assert "exit code 3" in said


def test_a_run_with_the_assessment_expected_agrees_and_with_another_does_not(expected, actual):
    assert run_differences(expected, 1, standard_output=json.dumps(actual), standard_error="") == []
    actual["occasion"] = "daily"
    assert "occasion" in only(run_differences(expected, 1, standard_output=json.dumps(actual), standard_error=""))


# ---- rule 3: on, occasion, outcome


@pytest.mark.parametrize(("key", "other"), [("on", "2026-10-03"), ("occasion", "daily"), ("outcome", "hold")])
def test_day_occasion_and_outcome_are_equal(expected, actual, key, other):
    assert differences(expected, actual, 1) == []
    actual[key] = other
    assert f"the assessment, {key}" in only(differences(expected, actual, 1))


# ---- rule 4: units, axles, wheel ends


def test_units_axles_and_ends_are_matched_by_name_and_not_by_place(expected, actual):
    actual["units"].insert(0, {"number": "T-9", "outcome": "good", "axles": []})
    actual["combinations"].append({"units": ["T-9"]})
    actual["units"][1]["axles"].reverse()
    actual["units"][1]["axles"][0]["wheel_ends"].insert(0, {"side": "right", "outcome": "good"})
    assert differences(expected, actual, 1) == []


def test_an_empty_list_leaves_the_rest_open(expected, actual):
    expected["units"][0]["axles"] = []
    actual["units"][0]["axles"][0]["outcome"] = "hold"
    assert differences(expected, actual, 1) == []


def test_the_outcome_of_a_unit_an_axle_and_an_end_is_compared(expected, actual):
    unit = actual["units"][0]
    unit["outcome"] = unit["axles"][0]["outcome"] = "good"
    unit["axles"][1]["wheel_ends"][0]["outcome"] = None
    assert differences(expected, actual, 1) == [
        "unit K-4, outcome: expected 'fix', found 'good'",
        "unit K-4 axle 1, outcome: expected 'unseen', found 'good'",
        "unit K-4 axle 2 left, outcome: expected 'fix', found None",
    ]


def test_a_unit_an_axle_and_an_end_must_be_there(expected, actual):
    actual["units"][0]["axles"][1]["wheel_ends"] = []
    assert "unit K-4 axle 2 left is not" in only(differences(expected, actual, 1))
    del actual["units"][0]["axles"][1]
    assert "unit K-4 axle 2 is not" in differences(expected, actual, 1)[0]
    del actual["units"][0]
    assert "unit K-4 is not" in differences(expected, actual, 1)[0]


def test_a_unit_named_twice_differs(expected, actual):
    actual["units"] *= 2
    assert "unit K-4 is not in the assessment, or more than once" in differences(expected, actual, 1)


# ---- rule 5: combinations


def two_counted(halves_of_the_second=1):
    return [
        {"unit": "K-4", "axle": 2, "side": "left", "halves": 2},
        {"unit": "K-4", "axle": 2, "side": "right", "halves": halves_of_the_second},
    ]


def test_the_counted_ends_agree_in_any_order_and_whatever_rules_they_name(expected, actual):
    expected["combinations"][0]["counted"] = two_counted()
    actual["combinations"][0]["counted"] = [end | {"rules": ["x"]} for end in reversed(two_counted())]
    assert differences(expected, actual, 1) == []


@pytest.mark.parametrize(
    ("found", "difference"),
    [
        (two_counted()[:1], "does not count K-4 axle 2 right, halves 1"),
        ([*two_counted(), two_counted()[0]], "counts K-4 axle 2 left, halves 2, which is not"),
        (two_counted(halves_of_the_second=2), "does not count K-4 axle 2 right, halves 1"),
    ],
)
def test_the_counted_ends_are_the_whole_list(expected, actual, found, difference):
    expected["combinations"][0]["counted"] = two_counted()
    actual["combinations"][0]["counted"] = found
    assert difference in differences(expected, actual, 1)[0]


@pytest.mark.parametrize(("key", "other"), [("outcome", "hold"), ("halves", 3), ("brakes", 6)])
def test_outcome_halves_and_brakes_of_a_combination_are_equal(expected, actual, key, other):
    actual["combinations"][0][key] = other
    assert f"combination K-4, {key}" in only(differences(expected, actual, 1))


def test_combinations_are_matched_by_their_units(expected, actual):
    actual["combinations"].insert(0, {"units": ["T-9"], "outcome": "hold"})
    assert differences(expected, actual, 1) == []
    actual["combinations"][1]["units"] = ["K-4", "T-9"]
    assert "combination K-4 is not in the assessment" in only(differences(expected, actual, 1))


def test_a_unit_that_nobody_coupled_is_a_combination_of_its_own(expected, actual):
    actual["units"].append({"number": "T-9", "outcome": "good", "axles": []})
    assert "unit T-9 is in no combination" in only(differences(expected, actual, 1))


# ---- rule 6: expected findings


@pytest.mark.parametrize(
    ("key", "other"),
    [
        ("outcome", "hold"),
        ("unit", "K-5"),
        ("axle", 3),
        ("side", None),
        ("layer", "roadside"),
        ("jurisdiction", "ca-qc"),
        ("basis", "memory"),
        ("unconfirmed", True),
        ("unconfirmed", 0),
        ("measured", "2 3/8 in"),
        ("measured", "2.2501 in"),
        ("limit", "2 mm"),
        ("limit", "two inches"),
        ("excess", "-1/4 in"),
        ("excess", None),
        ("citation", "393.47(d)"),
        ("rule", "us.federal.lining.other.air_drum"),
    ],
)
def test_a_finding_disagrees_in_any_one_key(key, other):
    found = finding_of(STROKE)
    assert disagreements(STROKE, found) == []
    assert "expected" in only(disagreements(STROKE, found | {key: other}))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("2 1/4 in", "2.25 in"),
        ("0 in", "-0.00 in"),
        ("-1/2 in", "-0.5 in"),
        ("4 psi", "4.0 psi"),
        ("-1.1 mm", "-11/10 mm"),
    ],
)
def test_a_quantity_is_the_same_however_it_is_written(one, other):
    assert disagreements({"measured": one}, {"measured": other}) == []


@pytest.mark.parametrize("other", ["2.26 in", "2 1/8 in", "2.25 mm", "2.25", "-2.25 in", "2,25 in", None])
def test_a_quantity_of_another_value_or_unit_is_another(other):
    assert "measured" in only(disagreements({"measured": "2 1/4 in"}, {"measured": other}))


@pytest.mark.parametrize("text", ["2 1/0 in", "in", "", "2 in ", "2in", "1 2 in", "1/2/3 in", "2 IN"])
def test_a_quantity_that_cannot_be_read_is_refused(text):
    with pytest.raises(ValueError, match="not a quantity"):
        quantity(text)


def test_a_citation_is_found_by_its_letters_and_digits():
    found = {"citation": "49 CFR, Appendix A to Part 396, 1.a.(6)(d)"}
    assert disagreements({"citation": ["396", "1a(6)(d)"]}, found) == []
    assert "citation" in only(disagreements({"citation": ["396", "1a(6)(c)"]}, found))


@pytest.mark.parametrize("found", [["lining", "lower"], ["lining.lower"], ["lining lower", "condition"]])
def test_each_missing_word_occurs(found):
    assert disagreements({"missing": ["lining", "lower"]}, {"missing": found}) == []


@pytest.mark.parametrize("found", [["lining"], ["lining", "slower"], ["lining_lower"], [], None])
def test_a_missing_word_that_does_not_occur_differs(found):
    assert "missing" in only(disagreements({"missing": ["lining", "lower"]}, {"missing": found}))


def test_two_expected_findings_need_two_findings(expected, actual):
    expected["findings"].append({"outcome": "fix", "about": "stroke"})
    said = only(differences(expected, actual, 1))
    assert said.startswith("no finding of its own for: fix at no place, about stroke")


def test_a_vague_expected_finding_leaves_the_precise_one_its_own(expected, actual):
    expected["findings"].insert(0, {"outcome": "fix", "about": "stroke"})
    actual["findings"].append(further(outcome="fix"))
    assert differences(expected, actual, 1) == []


def test_an_allowed_finding_is_not_taken_where_a_forbidden_one_fits(expected, actual):
    expected["findings"].append({"outcome": "hold", "about": "stroke"})
    expected["allowed"] = [{"outcome": "hold", "side": "right"}]
    actual["findings"] += [further(), further(side="left")]
    assert differences(expected, actual, 1) == []


def test_an_absent_finding_is_told_with_the_nearest_one(expected, actual):
    actual["findings"][0] |= {"basis": "memory", "outcome": "watch"}
    said = only(differences(expected, actual, 1))
    assert said.startswith("no finding of its own for: fix at K-4 2 left, about stroke")
    assert "the nearest is watch at K-4 2 left, rule us.federal.stroke" in said
    assert "basis: expected 'secondary', found 'memory'" in said


# ---- rule 7: further findings


@pytest.mark.parametrize("outcome", ["hold", "fix", "unseen", "broken", None])
def test_no_further_finding_may_be_hold_fix_unseen_or_nobody_knows_what(expected, actual, outcome):
    actual["findings"].append(further(outcome=outcome))
    assert f"not expected: {outcome} at K-4 2 right" in only(differences(expected, actual, 1))


def test_a_second_finding_like_an_expected_one_is_a_further_one(expected, actual):
    actual["findings"].append(finding_of(STROKE))
    assert "not expected: fix at K-4 2 left" in only(differences(expected, actual, 1))


def test_a_further_finding_may_agree_with_an_allowed_entry(expected, actual):
    actual["findings"].append(further(outcome="fix"))
    expected["allowed"] = [{"outcome": "fix", "about": "stroke", "side": "right"}]
    assert differences(expected, actual, 1) == []
    expected["allowed"] = [{"outcome": "fix", "about": "lining", "side": "right"}]
    assert "not expected" in only(differences(expected, actual, 1))


def test_an_allowed_entry_asks_for_nothing(expected, actual):
    expected["allowed"] = [{"outcome": "hold", "about": "stroke"}]
    assert differences(expected, actual, 1) == []


def test_another_unseen_finding_may_stand_where_one_is_expected(expected, actual):
    place = {key: UNSEEN[key] for key in ("unit", "axle", "side")}
    actual["findings"].append(further(outcome="unseen", **place))
    assert differences(expected, actual, 1) == []


@pytest.mark.parametrize("elsewhere", [{"unit": "K-5"}, {"axle": 2}, {"side": "left"}, {"axle": None, "side": None}])
def test_another_unseen_finding_elsewhere_may_not(expected, actual, elsewhere):
    place = {key: UNSEEN[key] for key in ("unit", "axle", "side")}
    actual["findings"].append(further(outcome="unseen", **place | elsewhere))
    assert "not expected: unseen" in only(differences(expected, actual, 1))


@pytest.mark.parametrize(("outcome", "at"), [("hold", UNSEEN), ("unseen", STROKE)])
def test_only_unseen_stands_beside_unseen(expected, actual, outcome, at):
    place = {key: at[key] for key in ("unit", "axle", "side")}
    actual["findings"].append(further(outcome=outcome, **place))
    assert f"not expected: {outcome}" in only(differences(expected, actual, 1))


def test_a_place_left_open_lets_unseen_ones_through_only_where_the_expected_one_stands(expected, actual):
    del expected["findings"][1]["axle"], expected["findings"][1]["side"]
    actual["findings"].append(further(outcome="unseen"))
    assert "not expected: unseen at K-4 2 right" in only(differences(expected, actual, 1))


SHARE = {"outcome": "fix", "about": "count", "unit": None, "axle": None, "side": None}


def test_a_finding_on_the_share_may_have_the_outcome_expected_of_its_combination(expected, actual):
    actual["findings"].append(further(**SHARE, args={"units": ["K-4"]}))
    actual["findings"].append(further(**SHARE))
    assert differences(expected, actual, 1) == []


@pytest.mark.parametrize(
    "other",
    [{"outcome": "hold"}, {"about": "stroke"}, {"unit": "K-4"}, {"args": {"units": ["T-9"]}}],
)
def test_a_finding_on_the_share_may_have_no_other(expected, actual, other):
    actual["findings"].append(further(**SHARE | other))
    assert "not expected" in only(differences(expected, actual, 1))


def test_where_no_outcome_is_expected_of_a_combination_its_share_may_have_none(expected, actual):
    del expected["combinations"][0]["outcome"]
    actual["findings"].append(further(**SHARE | {"outcome": None}))
    assert "not expected" in only(differences(expected, actual, 1))


# ---- rule 8: watch and good beyond the expected


@pytest.mark.parametrize("outcome", ["watch", "good"])
def test_further_watch_and_good_findings_are_let_through(expected, actual, outcome):
    actual["findings"].append(further(outcome=outcome))
    assert differences(expected, actual, 1) == []


def test_an_exact_pair_lets_only_good_ones_through(expected, actual):
    expected["exact"] = True
    actual["findings"].append(further(outcome="good"))
    assert differences(expected, actual, 1) == []
    actual["findings"].append(further(outcome="watch"))
    assert "not expected: watch at K-4 2 right" in only(differences(expected, actual, 1))


# ---- rule 9: no outcome given


def test_where_no_outcome_is_given_a_further_finding_is_still_forbidden(expected, actual):
    del expected["outcome"], expected["units"][0]["outcome"]
    assert differences(expected, actual, 1) == []
    actual["findings"].append(further(unit="K-4", axle=None, side=None))
    assert "not expected: hold at K-4" in only(differences(expected, actual, 1))


# ---- what cannot be compared is refused, not passed


@pytest.mark.parametrize("name", ["units", "combinations", "findings"])
def test_an_assessment_without_its_lists_differs(expected, actual, name):
    del actual[name]
    assert only(differences(expected, actual, 1)) == f"the assessment has no list '{name}'"


@pytest.mark.parametrize(
    ("spoil", "reason"),
    [
        (lambda pair: pair.update(outcomes="fix"), "the file .* unknown keys: outcomes"),
        (lambda pair: pair.update(outcome="bad"), "unknown outcome 'bad'"),
        (lambda pair: pair["units"][0].update(outcom="fix"), "a unit .* unknown keys: outcom"),
        (lambda pair: pair["units"][0]["axles"][0].update(axel=1), "an axle .* unknown keys: axel"),
        (lambda pair: pair["units"][0]["axles"][0]["wheel_ends"][0].update(x=1), "a wheel end .* keys: x"),
        (lambda pair: pair["combinations"][0].update(half=1), "a combination .* unknown keys: half"),
        (lambda pair: pair["combinations"][0]["counted"][0].update(x=1), "a counted end .* keys: x"),
        (lambda pair: pair["findings"][0].update(cites="x"), "a finding .* unknown keys: cites"),
        (lambda pair: pair["findings"][0].update(about="weather"), "unknown word in about: 'weather'"),
        (lambda pair: pair["findings"][0].update(limit="2"), "not a quantity with its unit: '2'"),
        (lambda pair: pair.update(allowed=[{"axel": 1}]), "a finding .* unknown keys: axel"),
        (lambda pair: pair.update(exit=2), "with exit 2"),
    ],
)
def test_a_pair_with_something_that_would_not_be_compared_is_refused(expected, actual, spoil, reason):
    spoil(expected)
    with pytest.raises(ValueError, match=reason):
        differences(expected, actual, 1)
