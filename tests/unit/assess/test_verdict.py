"""Findings: which outcome is worst, the sentence a finding makes, and its fields in a file."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treadle.assess.file_model import FindingEntry
from treadle.assess.verdict import Finding, Verdict, worst
from treadle.measure import Quantity
from treadle.rules.model import OUTCOMES
from treadle.words import LANGUAGES, say

OVER = Verdict(
    outcome="fix",
    code="over",
    remedy="applied_stroke_over",
    rule="us.federal.stroke",
    layer="operate",
    jurisdiction="us",
    measured=Quantity(Fraction(9, 4), "in"),
    limit=Quantity(Fraction(2), "in"),
    excess=Quantity(Fraction(1, 4), "in"),
    citation="49 CFR 393.47(e)",
    basis="secondary",
    missing=(),
    args={"kind": "applied_stroke"},
)


def changed(**fields):
    return Verdict(**{name: getattr(OVER, name) for name in Verdict.__slots__} | fields)


@pytest.mark.parametrize("position", range(len(OUTCOMES)))
def test_each_outcome_is_worse_than_all_that_follow_it(position):
    assert worst(OUTCOMES[position:]) == worst(reversed(OUTCOMES[position:])) == OUTCOMES[position]


def test_what_was_not_judged_has_no_say():
    assert worst([None, "good", None]) == "good"
    assert worst([None]) is None
    assert worst([]) is None


@given(st.lists(st.sampled_from([None, *OUTCOMES])), st.sampled_from(OUTCOMES))
def test_one_more_outcome_never_betters_the_worst(outcomes, more):
    before, after = worst(outcomes), worst([*outcomes, more])
    assert before is None or OUTCOMES.index(after) <= OUTCOMES.index(before)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_sentence_holds_what_was_measured_its_limit_its_excess_and_its_citation(language):
    said = Finding(OVER, "K-12", 2, "left").says(language)
    for words in ("2 1/4 in", "2 in", "1/4 in", "49 CFR 393.47(e)"):
        assert words in said


def test_a_distance_within_a_limit_is_said_without_its_sign():
    near = changed(code="near", remedy="near", excess=Quantity(Fraction(-1, 8), "in"))
    said = Finding(near).says()
    assert "1/8 in" in said
    assert "-1/8 in" not in said


@pytest.mark.parametrize("tail", ["annual", "alone"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_breach_of_another_layer_says_what_it_would_mean_there(tail, language):
    plain, tailed = Finding(OVER).says(language), Finding(changed(code=f"{tail}_over")).says(language)
    assert tailed == f"{plain} {say(f'finding.tail.{tail}', language)}"


def test_a_finding_has_in_a_file_exactly_the_fields_of_the_contract():
    written = Finding(OVER, "K-12", 2, "left").as_json("en")
    assert list(written) == list(FindingEntry.model_fields)
    assert (written["measured"], written["limit"], written["excess"]) == ("2 1/4 in", "2 in", "1/4 in")


def test_what_was_not_measured_is_null_in_a_file():
    bare = Verdict(
        outcome="unseen", code="missing", remedy="missing", missing=("lining", "upper"), args={"kind": "lining"}
    )
    written = Finding(bare).as_json("es")
    assert [written[name] for name in ("unit", "axle", "side", "rule", "measured", "limit", "excess")] == [None] * 7
    assert written["missing"] == ["lining", "upper"]
