"""What the shop adds to the law: tighter limits, near bands, ageing, and limits it has confirmed."""

import json
from datetime import date

import pytest

from treadle.assess import LAW_ONLY, read_confirmed, read_policy
from treadle.assess.policy import NEAR
from treadle.errors import BadInput
from treadle.words import LANGUAGES, explain

DAY = date(2026, 10, 2)
OFF = {"unit": "K-12", "axle": 2, "side": "left"}
STEER_9 = {"design": "clamp", "type": "9", "stroke_class": "standard", "rated_stroke": "1.75 in"}
"""A chamber whose limit rests on memory in every layer."""


@pytest.fixture
def policy(rules):
    return lambda *entries, **fields: read_policy(policy_text(*entries, **fields), rules, DAY)


def policy_text(*entries, **fields):
    return json.dumps({"treadle": "policy/1", "rules": entries, **fields})


def confirmed_text(*ids, **fields):
    limit = {"edition": "2025", "by": "R. Quill", "on": "2026-09-01", **fields}
    return json.dumps({"treadle": "confirmed/1", "limits": [{"rule": one, **limit} for one in ids]})


def refused(call, *arguments):
    with pytest.raises(BadInput) as refusal:
        call(*arguments)
    for language in LANGUAGES:
        for problem, line in zip(refusal.value.problems, explain(refusal.value, language).splitlines(), strict=True):
            assert line.startswith(problem.where)
    return refusal.value.problems


def end(assessment, axle=2, side="left"):
    (unit,) = assessment.units
    return dict(unit.axles[axle - 1].ends)[side]


def set_reading(raw, kind, value, **at):
    """Change the value of every reading of a kind at a place; there must be one."""
    rows = [row for row in raw["readings"] if row["kind"] == kind and {**OFF, **at}.items() <= row.items()]
    assert rows
    for row in rows:
        row["value"] = value


# -- how a policy file is read


@pytest.mark.parametrize(
    "spelling",
    [
        {"comparator": "breach_if_less_than", "value": "5/8 in"},
        {"breach_if_less_than": "5/8 in"},
        {"breach_if_less_than": True, "value": "5/8 in"},
    ],
    ids=["a comparator and a value", "a comparator that holds the value", "a comparator marked, and a value"],
)
def test_a_rule_may_be_written_in_three_ways(spelling, policy):
    (rule,) = policy(
        {"quantity": "lining", "applies": {"role": ["drive", "lift"], "brake": "air_drum"}, **spelling}
    ).rules
    (row,) = rule.values[0].rows
    assert (rule.id, rule.layer, rule.then) == ("shop.policy.1", "policy", "watch")
    assert (rule.quantity, rule.comparator, str(row.figure.customary)) == ("lining", "breach_if_less_than", "5/8 in")
    assert rule.applies == {"role": ("drive", "lift"), "brake": ("air_drum",)}
    assert (row.basis, rule.values[0].cited) == ("chosen", "Shop policy, rule 1")


@pytest.mark.parametrize(
    "comparator",
    ["breach_if_more_than", "breach_if_more_than_or_equal", "breach_if_less_than", "breach_if_less_than_or_equal"],
)
def test_every_comparator_with_a_limit_may_stand_in_a_policy(comparator, policy):
    (rule,) = policy({"quantity": "end_play", comparator: "0.005 in"}).rules
    assert rule.comparator == comparator


def test_rules_are_numbered_as_they_stand(policy):
    made = policy(
        {"quantity": "end_play", "breach_if_more_than": "0.005 in"},
        {"quantity": "hub_temperature", "breach_if_more_than": "250 °F", "then": "fix"},
    )
    assert [(rule.id, rule.then) for rule in made.rules] == [("shop.policy.1", "watch"), ("shop.policy.2", "fix")]


def test_a_policy_that_says_nothing_is_law_only(policy):
    made = policy()
    assert (made.near, made.age_days, made.age_miles, made.rules) == (NEAR, None, None, ())
    assert made.confirmed == LAW_ONLY.confirmed == frozenset()


def test_near_bands_that_are_not_set_keep_our_choice(policy):
    near = policy(near={"stroke": "3 mm"}).near
    assert {name: str(size) for name, size in near.items()} == {
        "stroke": "3 mm",
        "lining": "1/16 in",
        "drum": "0.020 in",
    }


def test_the_age_and_what_unseen_blocks_are_kept(policy):
    made = policy(age={"days": 90, "miles": 25000}, unseen_blocks={"daily": False})
    assert (made.age_days, made.age_miles, made.unseen_blocks) == (90, 25000, {"daily": False})


NOWHERE = "policy rules[0] comparator and value"
UNUSABLE_RULES = {
    "an outcome no shop may give": (
        {"breach_if_less_than": "5/8 in", "then": "hold"},
        "wrong_type",
        "policy rules.0.then",
    ),
    "neither comparator nor value": ({}, "word_not_allowed", NOWHERE),
    "no comparator": ({"value": "5/8 in"}, "word_not_allowed", NOWHERE),
    "no value": ({"breach_if_less_than": True}, "word_not_allowed", NOWHERE),
    "two comparators": (
        {"breach_if_less_than": "5/8 in", "breach_if_more_than": "1 in"},
        "word_not_allowed",
        NOWHERE,
    ),
    "a comparator without a limit": ({"comparator": "breach_if_seen", "value": "1 in"}, "word_not_allowed", NOWHERE),
    "a value without its unit": ({"breach_if_less_than": "5/8"}, "no_unit", "policy rules[0].value"),
    "a value in a unit that does not fit": ({"breach_if_less_than": "5 psi"}, "wrong_unit", "policy rules[0].value"),
    "an unknown field": ({"breach_if_less_than": "5/8 in", "colour": "red"}, "wrong_type", "policy rules.0.colour"),
    "an unknown quantity": (
        {"quantity": "brightness", "breach_if_less_than": "1 in"},
        "word_not_allowed",
        "policy rules[0].quantity",
    ),
    "a quantity without a number": (
        {"quantity": "condition", "breach_if_less_than": "1 in"},
        "word_not_allowed",
        "policy rules[0].quantity",
    ),
}
UNUSABLE_FILES = {
    "no JSON": ("{", "not_json", "policy"),
    "another version": ('{"treadle": "policy/2"}', "wrong_type", "policy treadle"),
    "no version": ('{"rules": []}', "wrong_type", "policy treadle"),
    "an unknown field": (policy_text(colour="red"), "wrong_type", "policy colour"),
    "a band of an unknown kind": (policy_text(near={"stork": "1/8 in"}), "wrong_type", "policy near.stork"),
    "a band without its unit": (policy_text(near={"stroke": "1/8"}), "no_unit", "policy near.stroke"),
    "a band in a unit that does not fit": (policy_text(near={"stroke": "1 psi"}), "wrong_unit", "policy near.stroke"),
    "an age in text": (policy_text(age={"days": "90"}), "wrong_type", "policy age.days"),
}


@pytest.mark.parametrize("name", UNUSABLE_FILES)
def test_a_policy_file_that_cannot_be_used_is_refused_at_its_place(name, rules):
    text, slug, where = UNUSABLE_FILES[name]
    (problem,) = refused(read_policy, text, rules, DAY)
    assert (problem.slug, problem.where) == (slug, where)


@pytest.mark.parametrize("name", UNUSABLE_RULES)
def test_a_policy_rule_that_cannot_be_used_is_refused_at_its_place(name, rules):
    entry, slug, where = UNUSABLE_RULES[name]
    (problem,) = refused(read_policy, policy_text({"quantity": "lining", **entry}), rules, DAY)
    assert (problem.slug, problem.where) == (slug, where)


def test_a_policy_that_is_no_object_is_refused(rules):
    (problem,) = refused(read_policy, "[]", rules, DAY)
    assert (problem.slug, problem.details["given"]) == ("wrong_type", [])


# -- it may tighten, never loosen


def test_a_rule_looser_than_the_law_is_refused_with_both_figures_and_the_law_by_name(rules):
    applies = {"design": "clamp", "type": "30", "stroke_class": "standard"}
    entry = {"quantity": "applied_stroke", "breach_if_more_than": "2 1/64 in", "applies": applies}
    (problem,) = refused(read_policy, policy_text(entry), rules, DAY)
    assert (problem.slug, problem.where) == ("policy_looser", "policy rules[0]")
    assert problem.details == {"value": "2 1/64 in", "law": "49 CFR 393.47(e) (us.federal.stroke)", "limit": "2 in"}


@pytest.mark.parametrize("size", ["2 in", "1.75 in", "50.8 mm", "50 mm"])
def test_a_rule_as_strict_as_the_law_or_stricter_is_taken(size, policy):
    applies = {"design": "clamp", "type": "30", "stroke_class": "standard"}
    assert policy({"quantity": "applied_stroke", "breach_if_more_than": size, "applies": applies}).rules


def test_at_one_figure_the_comparator_that_fails_the_figure_itself_is_the_stricter(policy, rules):
    """On a steering axle the law fails a hydraulic disc pad of 1/16 in itself; a policy may not let it pass."""
    entry = {"quantity": "lining", "applies": {"brake": "hydraulic_disc", "role": ["steer"]}}
    assert policy({**entry, "breach_if_less_than_or_equal": "1/16 in"}).rules
    looser = refused(read_policy, policy_text({**entry, "breach_if_less_than": "1/16 in"}), rules, DAY)
    law = "49 CFR 393.47(d)(1) (us.federal.lining.steering.hydraulic_disc)"
    assert law in [problem.details["law"] for problem in looser]


def test_each_looser_rule_is_named_beside_the_other_faults(rules):
    text = policy_text(
        {"quantity": "brightness", "breach_if_less_than": "1 in"},
        {"quantity": "end_play", "breach_if_more_than": "0.005 in"},
        {"quantity": "low_air_warning", "breach_if_less_than": "50 psi"},
    )
    problems = refused(read_policy, text, rules, DAY)
    assert [(problem.slug, problem.where) for problem in problems][:2] == [
        ("word_not_allowed", "policy rules[0].quantity"),
        ("policy_looser", "policy rules[2]"),
    ]


def test_a_policy_is_held_against_the_law_of_the_day(rules):
    """Before 5 September 2012 no limit on a stroke is held, so none is loosened."""
    text = policy_text({"quantity": "applied_stroke", "breach_if_more_than": "3 in"})
    assert refused(read_policy, text, rules, DAY)
    assert read_policy(text, rules, date(2012, 9, 4)).rules


# -- what it does to an outcome


@pytest.mark.parametrize("outcome", ["watch", "fix"])
def test_a_reading_past_the_shops_own_limit_is_what_the_policy_says(outcome, clean, judged, policy):
    shop = policy({"quantity": "lining", "breach_if_less_than": "5/8 in", "then": outcome})
    set_reading(clean, "lining", "9/16 in", shoe="upper")
    assert judged(clean).outcome == "good"
    assessment = judged(clean, policy=shop)
    assert (assessment.outcome, end(assessment), end(assessment, side="right")) == (outcome, outcome, "good")
    (bad,) = [one for one in assessment.findings if one.outcome != "good"]
    assert (bad.outcome, bad.verdict.code) == (outcome, "under")
    assert (bad.verdict.layer, bad.verdict.rule, str(bad.verdict.limit)) == ("policy", "shop.policy.1", "5/8 in")


@pytest.mark.parametrize(
    ("value", "outcome"), [("5/8 in", "good"), ("39/64 in", "watch"), ("15.8 mm", "watch"), ("15.9 mm", "good")]
)
def test_at_the_shops_own_limit_its_comparator_decides(value, outcome, clean, judged, policy):
    shop = policy({"quantity": "lining", "breach_if_less_than": "5/8 in"})
    set_reading(clean, "lining", value, shoe="upper")
    assert judged(clean, policy=shop).outcome == outcome


def test_a_policy_applies_only_where_it_says(clean, judged, policy):
    shop = policy(
        {"quantity": "lining", "breach_if_less_than": "7/8 in", "applies": {"role": ["drive"]}, "then": "fix"}
    )
    assessment = judged(clean, policy=shop)
    assert [end(assessment, axle, side) for axle in (1, 2) for side in ("left", "right")] == ["good"] * 2 + ["fix"] * 2


def test_a_policy_never_excuses_a_breach_of_the_law(clean, judged, policy):
    shop = policy({"quantity": "lining", "breach_if_less_than": "5/8 in"}, near={"lining": "1/64 in"})
    set_reading(clean, "lining", "7/32 in", shoe="upper")
    assert [end(judged(clean)), end(judged(clean, policy=shop))] == ["fix", "fix"]


BANDS = [
    # band, stroke against a limit of 2 in, outcome
    ({}, "1 7/8 in", "watch"),
    ({}, "1 55/64 in", "good"),
    ({"stroke": "1/16 in"}, "1 7/8 in", "good"),
    ({"stroke": "1/16 in"}, "1 15/16 in", "watch"),
    ({"stroke": "1/4 in"}, "1 3/4 in", "watch"),
]


@pytest.mark.parametrize("case", BANDS, ids=str)
def test_the_band_before_a_limit_is_the_shops_to_set_and_inclusive(case, clean, judged, policy):
    near, value, outcome = case
    set_reading(clean, "applied_stroke", value)
    assert end(judged(clean, policy=policy(near=near))) == outcome


# -- ageing


def taken_at(raw, at):
    """Give the stroke of the tested end its own time."""
    (row,) = [row for row in raw["readings"] if row["kind"] == "applied_stroke" and OFF.items() <= row.items()]
    row["at"] = at


@pytest.mark.parametrize("at", ["2026-10-02T07:40:00-06:00", "2026-07-04T00:01:00-06:00", "2026-10-03T07:40:00-06:00"])
def test_a_reading_no_older_than_the_shop_allows_is_seen(at, clean, judged, policy):
    taken_at(clean, at)
    assert judged(clean, on=DAY, policy=policy(age={"days": 90})).outcome == "good"


def test_a_reading_older_than_the_shop_allows_is_not_seen(clean, judged, policy):
    taken_at(clean, "2026-07-03T23:59:00-06:00")
    assert judged(clean, on=DAY).outcome == "good"
    assessment = judged(clean, on=DAY, policy=policy(age={"days": 90}))
    assert (assessment.outcome, end(assessment), end(assessment, side="right")) == ("unseen", "unseen", "good")
    (absent,) = [one.verdict for one in assessment.findings if one.outcome == "unseen" and one.axle is not None]
    assert (absent.code, absent.missing) == ("missing", ("applied_stroke",))
    assert ("applied_stroke", "too_old", 2, "left") in [
        (one.what, one.why, one.axle, one.side) for one in assessment.not_judged
    ]


def test_an_old_breach_is_not_seen_either(clean, judged, policy):
    set_reading(clean, "applied_stroke", "2 1/4 in")
    assert judged(clean).outcome in ("hold", "fix")
    for row in clean["readings"]:
        row["at"] = "2026-01-01T07:40:00-06:00"
    assert judged(clean, on=DAY, policy=policy(age={"days": 90})).outcome == "unseen"


# -- what unseen means to the shop


@pytest.mark.parametrize(
    ("fields", "blocks"),
    [
        ({}, True),
        ({"unseen_blocks": {"service": False}}, False),
        ({"unseen_blocks": {"service": True}}, True),
        ({"unseen_blocks": {"daily": False}}, True),
    ],
)
def test_whether_unseen_keeps_a_unit_in_is_said_for_the_occasion(fields, blocks, clean, judged, policy):
    assert judged(clean).as_json()["unseen_blocks"] is None
    assert judged(clean, policy=policy(**fields)).as_json()["unseen_blocks"] is blocks


# -- confirmed limits


def test_a_pass_that_rests_on_memory_is_a_watch_until_the_shop_confirms_the_limit(clean, judged, rules, found):
    clean["units"][0]["axles"][0]["chamber"] = STEER_9
    before = judged(clean)
    assert found(before) == [("watch", "not_confirmed")] * 2
    rested_on = {one.verdict.rule for one in before.findings if one.outcome == "watch"}
    ids = read_confirmed(confirmed_text(*rested_on, "us.annual.stroke", "us.roadside.stroke"), rules)
    assert judged(clean, policy=_with(ids)).outcome == "good"


def test_a_breach_of_a_memory_limit_decides_confirmed_or_not_and_says_which(clean, judged, rules):
    clean["units"][0]["axles"][0]["chamber"] = STEER_9
    set_reading(clean, "applied_stroke", "1 1/2 in", axle=1)
    ids = read_confirmed(confirmed_text("us.federal.stroke"), rules)
    for policy, unconfirmed in ((LAW_ONLY, True), (_with(ids), False)):
        assessment = judged(clean, policy=policy)
        assert end(assessment, axle=1) == "fix"
        (breach,) = [
            one.verdict
            for one in assessment.findings
            if one.verdict.rule == "us.federal.stroke" and one.outcome == "fix"
        ]
        assert (breach.basis, breach.unconfirmed) == ("memory", unconfirmed)


def test_confirming_another_limit_changes_nothing(clean, judged, rules):
    clean["units"][0]["axles"][0]["chamber"] = STEER_9
    ids = read_confirmed(confirmed_text("us.federal.chamber_match"), rules)
    assert judged(clean, policy=_with(ids)).outcome == "watch"


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        ("{", [("not_json", "confirmed")]),
        ('{"treadle": "confirmed/2", "limits": []}', [("wrong_type", "confirmed treadle")]),
        ('{"treadle": "confirmed/1"}', [("wrong_type", "confirmed limits")]),
        (confirmed_text("us.nothing"), [("unknown_rule", "confirmed limits[0]")]),
        (confirmed_text("us.federal.stroke", by=" "), [("missing_field", "confirmed limits[0]")]),
        (confirmed_text("us.federal.stroke", edition=""), [("missing_field", "confirmed limits[0]")]),
        (confirmed_text("us.federal.stroke", on="last week"), [("unreadable_day", "confirmed limits[0].on")]),
        (
            confirmed_text("us.nothing", by="", edition="", on=""),
            [
                ("unknown_rule", "confirmed limits[0]"),
                ("missing_field", "confirmed limits[0]"),
                ("missing_field", "confirmed limits[0]"),
                ("unreadable_day", "confirmed limits[0].on"),
            ],
        ),
    ],
)
def test_a_confirmation_without_its_proof_is_refused(text, problems, rules):
    assert [(one.slug, one.where) for one in refused(read_confirmed, text, rules)] == problems


@pytest.mark.parametrize("field", ["rule", "edition", "by", "on"])
def test_a_confirmation_lacking_a_field_is_refused_by_its_name(field, rules):
    raw = json.loads(confirmed_text("us.federal.stroke"))
    del raw["limits"][0][field]
    (problem,) = refused(read_confirmed, json.dumps(raw), rules)
    assert problem.where == f"confirmed limits.0.{field}"


def test_each_confirmed_rule_is_returned_once(rules):
    text = confirmed_text("us.federal.stroke", "us.roadside.share", "us.federal.stroke")
    assert read_confirmed(text, rules) == {"us.federal.stroke", "us.roadside.share"}


def _with(ids):
    return type(LAW_ONLY)(confirmed=ids)
