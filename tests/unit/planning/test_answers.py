"""The files that say which work answers which finding and which parts it takes: refused by file and key when broken."""

from importlib.resources import files

import pytest

from treadle.errors import DataFault
from treadle.planning.answers import answers_in, parts_in
from treadle.words import LANGUAGES, explain

ANSWERS = files("treadle.planning").joinpath("answers.toml").read_text(encoding="utf-8")
PARTS = files("treadle.planning").joinpath("parts.toml").read_text(encoding="utf-8")


def refusal(load, text, old, new):
    assert old in text
    with pytest.raises(DataFault) as fault:
        load(text.replace(old, new, 1))
    (problem,) = fault.value.problems
    assert all(problem.where in explain(fault.value, language) for language in LANGUAGES)
    return problem.where, problem.details.get("key") or problem.details.get("source")


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("[reading.lining]", "[reading.lining", None),
        ("[reading.lining]", "[made_up.lining]", "made_up"),
        ('task = "scam_reline"', 'task = "made_up"', "reading.lining.task"),
        ('task = "scam_reline"', "", "reading.lining"),
        ('task = "scam_reline"', 'task = "scam_reline"\nanswer = "repair"', "reading.lining"),
        ('answer = "repair"', 'answer = "made_up"', "reading.rotor_thickness.answer"),
        ('notes = ["never_turn_up"]', 'notes = ["made_up"]', "planning.note.made_up"),
    ],
)
def test_broken_answers_are_refused(old, new, key):
    assert refusal(answers_in, ANSWERS, old, new) == ("planning/answers.toml", key)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("[[scam_reline]]", "[[made_up]]", "made_up"),
        ('part = "lined_shoes"', 'part = "made_up"', "planning.part.made_up"),
        ('rule = "both_ends"', 'rule = "made_up"', "planning.rule.made_up"),
        ("each_end = 2\n", "", "scam_reline.each_end"),
        ('when = "if_found"', 'when = "if_found"\neach_end = 1', "scam_reline.each_end"),
        ('source = "burnish-page"', 'source = "made-up"', "made-up"),
    ],
)
def test_broken_parts_are_refused(old, new, key):
    assert refusal(parts_in, PARTS, old, new) == ("planning/parts.toml", key)


def test_a_kind_of_finding_nobody_mapped_goes_to_the_lead():
    answers = answers_in(ANSWERS)
    assert answers.to("end_play", None).goes_to == answers.to("condition", "made_up").goes_to == "by_hand"
