"""Hours from own history: the worked values of the sheet, and no estimate from too little."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treadle.planning import hours_from
from treadle.words import LANGUAGES

SHEET = "Sheet on shop work, section 6, derived there: standard statistics"
JOBS = [2.9, 3.1, 3.0, 3.4, 3.2, 6.8, 2.8, 3.3]


def test_the_worked_example_of_the_sheet_comes_out():
    hours = hours_from(JOBS)
    assert (hours.median, hours.p80) == (3.1, 3.28), SHEET
    assert hours.left_out == (6.8,), f"{SHEET}: its robust z is 12.3, past 3.5"
    assert hours.jobs == 7


@pytest.mark.parametrize("history", [[], [3.0], [3.0, 3.1]])
def test_fewer_than_three_jobs_give_no_estimate(history):
    hours = hours_from(history)
    assert (hours.median, hours.p80, hours.jobs) == (None, None, len(history)), SHEET


def test_a_job_left_out_does_not_count_towards_the_three():
    assert hours_from([3.0, 3.1, 9.0]).median is None, SHEET
    assert hours_from([3.0, 3.1, 9.0]).left_out == (9.0,)


def test_jobs_that_all_took_the_same_leave_none_out():
    assert hours_from([3.0, 3.0, 3.0, 5.0]).left_out == ()


@given(st.lists(st.floats(0.5, 40), min_size=3, max_size=30))
def test_four_of_five_never_take_less_than_half_and_neither_leaves_what_was_seen(history):
    hours = hours_from(history)
    if hours.median is not None and hours.p80 is not None:
        assert min(history) - 0.01 <= hours.median <= hours.p80 <= max(history) + 0.01


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_said_holds_the_figures_and_what_was_left_out(language):
    said = hours_from(JOBS).says.says(language)
    assert all(number in said for number in ("3.1 h", "3.3 h", "7", "6.8 h"))
    assert "3" in hours_from([]).says.says(language)
    assert hours_from([3.0, 3.1, 3.2]).says.says(language).endswith(")")
