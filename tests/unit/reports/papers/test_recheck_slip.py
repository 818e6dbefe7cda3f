"""The slip for the road: what to check and by what figures, the cautions, room to fill in, the way back."""

import pytest

from treadle.errors import BadInput
from treadle.procedures import torque_records
from treadle.reports.recheck_slip import CAUTIONS, Wheel, pdf
from treadle.words import LANGUAGES, say


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_says_what_is_due_when_and_by_what_source(slip, read_paper, language):
    paper = read_paper(pdf(slip(), language))
    for text in (
        "50 to 100 miles",
        "412,400 mi",
        "412,450 mi",
        "Vehicle maker's maintenance manual",
        "49 CFR 393.47(e)",
    ):
        assert paper.says(text)
    assert len(paper.pages) == 1


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_caution_comes_before_the_first_nut(slip, read_paper, squeeze, language):
    """Cool wheels, and in the tightening direction: common practice, no source, as is keeping off a loose wheel."""
    text = read_paper(pdf(slip(), language)).text
    nuts = text.index(squeeze(say("paper.slip.heading.wheels", language)))
    assert {"cool", "tightening", "loose"} <= set(CAUTIONS)
    for caution in CAUTIONS:
        assert text.index(squeeze(say(f"paper.slip.caution.{caution}", language))) < nuts


@pytest.mark.parametrize("record", torque_records(None), ids=lambda record: record.key)
def test_a_torque_stands_with_its_lubrication_and_source_in_one_piece(slip, read_paper, record):
    paper = read_paper(pdf(slip(wheels=(Wheel(where="axle 2 left", torque=record.says.says("en")),))))
    assert paper.says(record.says.says("en"))


def test_where_no_record_is_known_no_figure_is_given(slip, read_paper):
    paper = read_paper(pdf(slip(wheels=(Wheel(where="axle 2 right"),), strokes=())))
    assert paper.says(say("paper.slip.no_torque"))
    assert "lbf" not in paper.text


@pytest.mark.parametrize("language", LANGUAGES)
def test_an_outside_shop_has_a_box_for_everything_asked(slip, read_paper, language):
    paper = read_paper(pdf(slip(), language))
    for box in ("meter", "day", "name", "shop", "wrench", "calibration", "found"):
        assert paper.says(say(f"paper.slip.box.{box}", language))
    assert paper.says("telephone 555 0142")


def test_many_wheels_run_on_to_more_pages_and_none_is_lost(slip, read_paper):
    wheels = tuple(Wheel(where=f"axle {axle} {side}", studs=10) for axle in range(1, 16) for side in ("left", "right"))
    paper = read_paper(pdf(slip(wheels=wheels)))
    assert len(paper.pages) > 1
    for wheel in wheels:
        assert paper.says(wheel.where)


def test_a_slip_that_asks_for_nothing_is_refused(slip):
    with pytest.raises(BadInput):
        slip(wheels=(), strokes=())
