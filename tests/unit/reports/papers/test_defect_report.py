"""A driver's report: every item the regulation names, the defects and their answers, none found only if said."""

from datetime import timedelta

import pytest

from treadle.errors import BadInput
from treadle.reports.defect_report import ITEMS, Answer, Defect, Review, pdf
from treadle.words import LANGUAGES, say

# What 49 CFR 396.11 has a driver report on; the list is that of 392.7, read in a copy of the text.
NAMED = (
    "service brakes, trailer connections too",
    "parking brake",
    "steering",
    "lights and reflectors",
    "tires",
    "horn",
    "windshield wipers",
    "rear-vision mirrors",
    "coupling devices",
    "wheels and rims",
    "emergency equipment",
)


def test_every_item_the_regulation_names_is_on_it(reported, read_paper):
    paper = read_paper(pdf(reported()))
    for item in NAMED:
        assert paper.says(item)
    assert len(ITEMS) == len(NAMED) + 1


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_says_each_defect_of_which_unit_and_what_was_done(reported, read_paper, language):
    paper = read_paper(pdf(reported(), language))
    for text in ("K-12", "Pulls to the left.", "Left marker lamp out.", "Hose changed.", "R. Quill", "L. Marrow"):
        assert paper.says(text)
    assert paper.says(say("paper.defects.found", language, count=2))


def test_an_item_with_a_defect_is_marked_in_words_too(reported, read_paper):
    text = read_paper(pdf(reported())).text
    assert "lightsandreflectors:defect" in text
    assert "steering:defect" not in text


def test_a_defect_without_an_answer_has_room_for_one_and_is_not_said_to_be_repaired(reported, read_paper):
    unanswered = read_paper(pdf(reported(answers=())))
    answers = tuple(Answer(defect=n, outcome="not_needed", says="", by="R. Quill", at=reported().at) for n in (0, 1))
    answered = read_paper(pdf(reported(answers=answers)))
    box = "repairedrepairnotneeded"
    assert unanswered.text.count(box) == 2
    assert box not in answered.text
    assert answered.text.count("R.Quill,2October2026") == 2


@pytest.mark.parametrize("language", LANGUAGES)
def test_that_none_was_found_is_the_drivers_own_statement(reported, read_paper, language):
    paper = read_paper(pdf(reported(defects=(), none_found=True, answers=()), language))
    assert paper.says(say("paper.defects.none_found", language))
    with pytest.raises(BadInput):
        reported(defects=(), none_found=False, answers=())
    with pytest.raises(BadInput):
        reported(none_found=True)


def test_the_next_drivers_review_is_on_it_once_there_is_one(reported, read_paper):
    review = Review(driver="P. Osei", at=reported().at + timedelta(hours=9))
    assert read_paper(pdf(reported(review=review))).says("Reviewed by the next driver: P. Osei, 2 October 2026, 16:40")
    assert not read_paper(pdf(reported())).says("Reviewed by the next driver")


def test_ten_defects_run_on_to_more_pages_and_none_is_lost(reported, read_paper):
    defects = tuple(Defect(item=ITEMS[n], says=f"Defect number {n}. " + "It was seen again. " * 9) for n in range(10))
    paper = read_paper(pdf(reported(defects=defects, answers=())))
    assert len(paper.pages) > 1
    for n in range(10):
        assert paper.says(f"Defect number {n}.")


def test_an_item_an_answer_and_an_index_nobody_knows_are_refused(reported):
    with pytest.raises(BadInput):
        Defect(item="radio", says="")
    with pytest.raises(BadInput):
        Answer(defect=0, outcome="later", says="", by="", at=reported().at)
    with pytest.raises(BadInput):
        reported(answers=(Answer(defect=2, outcome="repaired", says="", by="", at=reported().at),))
