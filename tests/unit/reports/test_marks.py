"""Marks speak by shape, in one colour, and each hue can be read on the paper and the card."""

import re
import xml.etree.ElementTree as ET

import pytest

from treadle.reports.marks import HUES_ON_PAPER, MARKS, picture, placed, symbol
from treadle.rules.model import OUTCOMES

CARD, PAPER, WHITE = "#fffdf8", "#f5f2ea", "#ffffff"


def test_contrast_is_reckoned_as_the_web_guidelines_do(contrast):
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


def test_every_outcome_has_a_mark_and_a_hue():
    assert set(OUTCOMES) == set(MARKS) == set(HUES_ON_PAPER)


def test_no_two_marks_have_the_same_shape():
    assert len({symbol(outcome).partition(">")[2] for outcome in OUTCOMES}) == len(OUTCOMES)


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_symbol_takes_the_one_colour_of_its_surroundings(outcome):
    drawn = ET.fromstring(symbol(outcome, prefix="here"))
    assert drawn.get("id") == f"here-{outcome}"
    assert drawn.get("viewBox") == "0 0 48 48"
    colours = {path.get(name) for path in drawn for name in ("fill", "stroke")} - {None, "none"}
    assert colours == {"currentColor"}
    assert not re.search("style=|#[0-9a-f]{3}", symbol(outcome))


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_each_hue_can_be_read_on_paper(outcome, contrast):
    for ground in (CARD, PAPER, WHITE):
        assert contrast(HUES_ON_PAPER[outcome], ground) >= 4.5


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_placed_mark_and_a_picture_are_whole_svg(outcome):
    group = ET.fromstring(placed(outcome, x=1, y=2, side=24))
    assert group.get("transform") == "translate(1 2) scale(0.5)"
    assert group.get("class") == f"mark mark-{outcome}"
    assert ET.fromstring(picture(outcome)).get("color") == HUES_ON_PAPER[outcome]
