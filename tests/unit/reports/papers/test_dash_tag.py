"""The tag: what may be done stands largest, none is taken for another, one to a page, no reason lost in silence."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from treadle.errors import BadInput
from treadle.reports.dash_tag import Held, Released, YardMove, pdf
from treadle.words import LANGUAGES, say

CAP_HEIGHT = 0.668
"""Height of a capital of the shipped face as a share of its size."""

POINT = 25.4 / 72
"""A typographic point in millimetres."""


def sizes_of(paper):
    """The largest size, in points, at which each piece of text on the first page is set."""
    sizes = {}

    def note(text, _, matrix, __, size):
        if text.strip():
            sizes[text.strip()] = max(sizes.get(text.strip(), 0), size * abs(matrix[3]))

    paper.reader.pages[0].extract_text(visitor_text=note)
    return sizes


@pytest.mark.parametrize(
    ("outcome", "words"),
    [
        ("hold", ("HOLD", "DO NOT MOVE")),
        ("fix", ("FIX", "DO NOT DISPATCH")),
        ("unseen", ("UNSEEN", "DO NOT DISPATCH")),
        (None, ("WAIT", "DO NOT DISPATCH")),
    ],
)
def test_a_unit_that_is_kept_in_says_so_and_never_that_it_was_released(held, read_paper, outcome, words):
    paper = read_paper(pdf(held(outcome)))
    for word in words:
        assert paper.says(word)
    assert "RELEASED" not in paper.text


def test_a_released_unit_says_by_whom_and_when_and_nothing_that_keeps_one_in(released, read_paper):
    paper = read_paper(pdf(released()))
    for text in ("RELEASED", "FOR DISPATCH", "M. Aldana", "2 October 2026, 07:40", "K-12 and T-7"):
        assert paper.says(text)
    for word in ("HOLD", "FIX", "DO NOT", "WAIT"):
        assert word.replace(" ", "") not in paper.text


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_released_unseen_is_not_said_to_have_been_judged(released, read_paper, language):
    judged, unseen = (say(f"paper.dash_tag.means.{means}", language) for means in ("released", "released_unseen"))
    assert read_paper(pdf(released("watch"), language)).says(judged)
    paper = read_paper(pdf(released("unseen"), language))
    assert paper.says(unseen)
    assert not paper.says(judged)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("outcome", ["hold", "fix", "unseen", None])
def test_its_word_is_read_from_three_metres(held, read_paper, language, outcome):
    """A letter of a two-hundredth of the distance is read with ease: common practice, no source."""
    word = say(f"paper.dash_tag.word.{outcome or 'waiting'}", language).upper()
    (size,) = [
        size for text, size in sizes_of(read_paper(pdf(held(outcome, language), language))).items() if word in text
    ]
    assert size * CAP_HEIGHT * POINT >= 3000 / 200


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_says_why_with_its_citation_and_who_ordered_it_since_when(held, why, read_paper, language):
    paper = read_paper(pdf(held("hold", language), language))
    assert why(language)
    for reason in why(language):
        assert paper.says(reason.says)
    assert "49CFR393.47(e)" in paper.text
    assert paper.says("M. Aldana")


def test_without_an_order_to_move_it_a_held_unit_says_there_is_none(held, read_paper):
    assert read_paper(pdf(held())).says(say("paper.dash_tag.move.none"))
    assert not read_paper(pdf(held("fix"))).says(say("paper.dash_tag.move.none"))


def test_the_leads_order_says_from_where_to_where_until_when_and_how_and_changes_what_may_be_done(held, read_paper):
    move = YardMove(
        ordered_by="M. Aldana",
        ordered_at=held().made_at,
        until=held().made_at + timedelta(hours=3),
        start="row 4",
        end="bay 2",
        speed="walking pace, one person ahead",
        driver="R. Quill",
    )
    paper = read_paper(pdf(held(move=move)))
    for text in ("MOVE ONLY BY THE ORDER BELOW", "row 4 to bay 2", "2 October 2026, 10:45", move.speed, "R. Quill"):
        assert paper.says(text)
    assert "DONOTMOVE" not in paper.text
    assert not paper.says(say("paper.dash_tag.move.none"))


@pytest.mark.parametrize("size", ["full", "half"])
@pytest.mark.parametrize("times", [1, 4, 40])
def test_it_is_one_page_and_counts_the_reasons_it_has_no_room_for(held, why, read_paper, times, size):
    reasons = why() * times
    paper = read_paper(pdf(held(why=reasons), size=size))
    assert len(paper.pages) == 1
    tags = 2 if size == "half" else 1
    first = [paper.text.count(re.sub(r"\s", "", reason.where) + ".") for reason in why()]
    shown = sum({reason.where: count for reason, count in zip(why(), first, strict=True)}.values())
    left = re.findall(r"And(\d+)more\.", paper.text)
    assert shown + sum(map(int, left)) == tags * len(reasons)
    assert len(left) == (tags if shown < tags * len(reasons) else 0)


def test_two_tags_alike_are_on_a_sheet_to_be_cut(held, read_paper):
    paper = read_paper(pdf(held(), size="half"))
    assert paper.text.count("DONOTMOVE") == 2
    assert len([alt for alt in paper.alternatives if "https://shop.example/units/K-12/" in alt]) == 2


def test_a_long_number_and_long_names_stay_on_the_page(held, read_paper):
    tag = held(ordered_by="Bartholomew Featherstonehaugh-Montgomery of the southern yard " * 2)
    paper = read_paper(pdf(tag, "es", "letter"))
    assert len(paper.pages) == 1
    assert paper.says("Featherstonehaugh-Montgomery")


def test_what_may_go_is_never_held_and_what_may_not_is_never_released(held):
    for outcome in ("good", "watch"):
        with pytest.raises(BadInput):
            held(outcome)
    for outcome in ("hold", "fix"):
        with pytest.raises(BadInput):
            Released(outcome=outcome, by="M. Aldana", at=held().made_at)
    assert Held(outcome=None, since=held().made_at, ordered_by="", why=()).kind == "waiting"


def test_a_size_nobody_knows_is_refused(held):
    with pytest.raises(BadInput) as refused:
        pdf(held(), size="quarter")
    assert refused.value.problems[0].details["allowed"] == "full, half"


def test_without_an_address_there_is_no_code(held, read_paper):
    assert read_paper(pdf(replace(held(), url=""))).alternatives == []
