"""Strokes that are none: a rod that does not move, one that bottoms, and marks read the wrong way round."""

import pytest

from treadle.words import LANGUAGES


def instead_of_the_stroke(raw, *rows):
    """Put these readings in the place of the stroke at axle 2 left."""
    place = {"unit": "K-12", "axle": 2, "side": "left"}
    raw["readings"] = [
        row for row in raw["readings"] if not {**place, "kind": "applied_stroke"}.items() <= row.items()
    ] + [{**place, **row} for row in rows]
    return raw


def rods(released, applied):
    return [{"kind": "rod_released", "value": released}, {"kind": "rod_applied", "value": applied}]


def verdicts(assessment):
    return [
        (one.outcome, one.verdict.code, one.verdict.rule, one.verdict.args.get("condition"))
        for one in assessment.findings
        if (one.axle, one.side) == (2, "left") and one.verdict.args.get("kind") == "applied_stroke"
    ]


NO_MOVEMENT = {
    "said so": [{"kind": "applied_stroke", "special": "no_movement"}],
    "a stroke of nothing": [{"kind": "applied_stroke", "value": "0 in"}],
    "marks in one place": rods("2 1/4 in", "2.25 in"),
}


@pytest.mark.parametrize("how", NO_MOVEMENT)
def test_a_rod_that_does_not_move_is_a_brake_that_does_not_act(how, clean, judged):
    assessment = judged(instead_of_the_stroke(clean, *NO_MOVEMENT[how]))
    found = verdicts(assessment)
    assert {condition for *_, condition in found} == {"no_braking_action"}
    assert ("fix", "forbidden_applied_stroke", "us.federal.brakes_operative", "no_braking_action") in found


@pytest.mark.parametrize("how", NO_MOVEMENT)
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_sentence_about_it_can_be_said(how, language, clean, judged):
    written = judged(instead_of_the_stroke(clean, *NO_MOVEMENT[how])).as_json(language)
    assert all(finding["says"] and finding["remedy"] for finding in written["findings"])


def test_a_rod_that_bottomed_is_past_any_limit(clean, judged):
    found = verdicts(judged(instead_of_the_stroke(clean, {"kind": "applied_stroke", "special": "bottomed"})))
    assert ("fix", "past_reading", "us.federal.stroke", None) in found
    assert {code for _, code, *_ in found} <= {"past_reading", "annual_past_reading"}


@pytest.mark.parametrize(
    ("released", "applied", "stroke"),
    [("2 1/4 in", "3 1/2 in", "1 1/4 in"), ("2 in", "3.125 in", "1.125 in"), ("50 mm", "81 mm", "31 mm")],
)
def test_the_stroke_is_how_far_the_rod_moved(released, applied, stroke, clean, judged):
    assessment = judged(instead_of_the_stroke(clean, *rods(released, applied)))
    assert assessment.outcome == "good"
    measured = {
        str(one.verdict.measured)
        for one in assessment.findings
        if (one.axle, one.side, one.verdict.args.get("kind")) == (2, "left", "applied_stroke")
    }
    assert measured == {stroke}


def test_marks_the_wrong_way_round_are_unseen_and_never_a_stroke(clean, judged):
    found = verdicts(judged(instead_of_the_stroke(clean, *rods("3 1/2 in", "2 1/4 in"))))
    assert found == [("unseen", "rods_backwards", None, None)]


def test_half_a_stroke_is_unseen_and_names_the_other_half(clean, judged):
    for kind, other in (("rod_released", "rod_applied"), ("rod_applied", "rod_released")):
        raw = {**clean, "readings": [dict(row) for row in clean["readings"]]}
        assessment = judged(instead_of_the_stroke(raw, {"kind": kind, "value": "2 in"}))
        (missing,) = [one.verdict.missing for one in assessment.findings if one.verdict.code == "missing"]
        assert missing == ("applied_stroke", other)
