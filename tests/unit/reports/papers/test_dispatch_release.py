"""The release for dispatch: its outcome, what each unit rests on and how old that is; what is never released."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from treadle.errors import BadInput
from treadle.reports.dispatch_release import Rest, pdf
from treadle.words import LANGUAGES, say


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_says_the_outcome_in_a_word_by_whom_and_for_how_long_it_holds(dispatch, read_paper, language):
    paper = read_paper(pdf(dispatch(language), language))
    assert paper.text.casefold().count(say("outcome.watch", language)) >= 2
    for text in ("K-12 + T-7", "0 of 10 brakes defective.", "M. Aldana", say("paper.dispatch.until", language)):
        assert paper.says(text)


def test_it_says_how_old_each_reading_is(dispatch, read_paper):
    paper = read_paper(pdf(dispatch()))
    for text in ("1 day", "12 days", "same day", "2,310 mi", "not noted"):
        assert paper.says(text)


def test_a_reading_is_as_old_as_the_clock_of_the_shop_says(dispatch, read_paper):
    """A reading at 23:30 the evening before is one day old at 07:40, though by UTC both are of one day."""
    evening = datetime(2026, 10, 2, 5, 30, tzinfo=timezone.utc)  # noqa: UP017
    release = dispatch()
    unit = replace(release.units[0], rests_on=(Rest(what="strokes", by="R. Quill", at=evening),), notes=())
    paper = read_paper(pdf(replace(release, units=(unit,), at=release.at)))
    assert evening.astimezone(release.at.tzinfo).date() == release.at.date() - timedelta(days=1)
    assert paper.says("1 day")
    assert "sameday" not in paper.text


@pytest.mark.parametrize("outcome", ["hold", "fix"])
def test_neither_a_combination_nor_a_unit_on_hold_or_fix_is_released(dispatch, outcome):
    with pytest.raises(BadInput):
        dispatch(outcome=outcome)
    with pytest.raises(BadInput):
        replace(dispatch().units[0], outcome=outcome)


def test_what_was_not_seen_goes_only_by_the_shops_policy(dispatch, read_paper):
    units = (replace(dispatch().units[0], outcome="unseen"),)
    with pytest.raises(BadInput) as refused:
        dispatch(units=units)
    assert refused.value.problems[0].details == {"field": "policy"}
    policy = "By the shop's policy of 3 March 2026, linings unseen for a day do not keep it in."
    assert read_paper(pdf(dispatch(units=units, policy=policy))).says(policy)


def test_a_unit_that_rests_on_nothing_and_a_release_of_nothing_are_refused(dispatch):
    with pytest.raises(BadInput) as refused:
        replace(dispatch().units[0], rests_on=())
    assert refused.value.problems[0].where == "dispatch.K-12"
    with pytest.raises(BadInput):
        dispatch(units=())
