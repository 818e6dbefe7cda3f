"""The release of a job: every reading with its limit and rule, who did what with which tool, and the seal."""

from dataclasses import replace
from datetime import date

import pytest

from treadle.errors import BadInput
from treadle.reports.parts import Seal
from treadle.reports.release_record import pdf
from treadle.words import LANGUAGES, say


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_reading_after_the_work_stands_there_with_its_limit_and_its_rule(release, read_paper, language):
    record = release(language)
    paper = read_paper(pdf(record, language))
    assert {row.outcome for row in record.measured} <= {"good", "watch"}
    assert len([row for row in record.measured if row.limit]) > 10
    for row in record.measured:
        for text in (row.where, row.what, row.measured, row.limit, row.rule):
            assert paper.says(text)


def test_it_says_the_steps_the_hold_points_the_parts_and_the_people(release, read_paper):
    paper = read_paper(pdf(release()))
    for text in (
        "Springs seated.",
        "Every spring fully home at both ends.",
        "second person: J. Amsel",
        "LX-2291",
        "no lot code recorded",
        "1 year of brake work, 2021",
        "no qualification on record at the time",
        "after 50 to 100 miles; meter between 412,400 mi and 412,450 mi",
        "Released: M. Aldana, 2 October 2026, 07:40",
    ):
        assert paper.says(text)
    assert paper.text.count("Holdpoint") == 1 + "Steps and hold points".count("Hold point")


def test_the_torque_record_stays_in_one_piece(release, tightened, read_paper):
    assert read_paper(pdf(release())).says(tightened().says)


@pytest.mark.parametrize(
    ("due", "said"),
    [
        (date(2026, 10, 2), "calibration due 2 October 2026"),
        (date(2026, 10, 1), "past its calibration of 1 October 2026 when used"),
        (None, "calibration not on record"),
    ],
)
def test_a_wrench_past_its_calibration_on_the_day_is_said_to_be(release, tightened, read_paper, due, said):
    assert read_paper(pdf(release(torque=(tightened(due),)))).says(said)


def test_the_seal_is_printed_whole_and_begins_the_foot_of_every_page(release, read_paper):
    record = release()
    paper = read_paper(pdf(record))
    assert record.seal.record in paper.text
    assert record.seal.head in paper.text
    assert paper.says("Link 412 of the chain.")
    assert all(f"seal{record.seal.head[:8]}" in page for page in paper.pages)


@pytest.mark.parametrize("outcome", ["hold", "fix", "unseen"])
def test_nothing_is_released_while_anything_touched_is_not_within(release, outcome):
    first, *others = release().measured
    with pytest.raises(BadInput):
        release(measured=(replace(first, outcome=outcome), *others))


def test_nothing_is_released_by_no_reading_at_all(release):
    with pytest.raises(BadInput) as refused:
        release(measured=())
    assert refused.value.problems[0].details == {"field": "measured"}


@pytest.mark.parametrize("figures", ["", "0123", "G" * 64, "A" * 64])
def test_a_seal_is_a_hash(figures):
    with pytest.raises(BadInput):
        Seal(record=figures, head="0" * 64)


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_was_not_part_of_the_job_is_said_to_be_none(release, read_paper, language):
    empty = release(language, torque=(), parts=(), people=(), steps=(), recheck=None)
    paper = read_paper(pdf(empty, language))
    for none in ("torque", "parts", "people", "steps", "recheck"):
        assert paper.says(say(f"paper.release.none.{none}", language))
