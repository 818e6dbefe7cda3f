"""What no file may do to the judge: better what is worse, read an order into it, or make good of what nobody knows.

Each property is a strategy and a function that lists what is wrong; `test_properties_can_fail.py` breaks the judge and
shows that each finds it.
"""

from __future__ import annotations

import pytest
import strategies
from hypothesis import given
from hypothesis import strategies as st
from properties import drawn, laws
from properties.judging import examples


@examples(40)
@given(drawn.two_readings("lining", *strategies.LINING))
def test_a_thicker_lining_is_never_judged_worse(pair):
    assert not laws.better_when_worse(good=pair.other, bad=pair.file)


@examples(40)
@given(drawn.two_readings("applied_stroke", *strategies.STROKE))
def test_a_longer_stroke_is_never_judged_better(pair):
    assert not laws.better_when_worse(good=pair.file, bad=pair.other)


@examples(40)
@given(drawn.bottomed())
def test_a_rod_that_bottomed_is_never_judged_better_than_any_stroke(pair):
    assert not laws.better_when_worse(good=pair.file, bad=pair.other)


@examples(40)
@given(drawn.stroke_by_rods())
def test_a_stroke_between_two_marks_of_the_rod_is_judged_as_the_stroke_itself(pair):
    assert not laws.different_outcomes(pair.file, pair.other)


@examples(40)
@given(drawn.two_readings("drum_diameter", *strategies.DRUM))
def test_a_larger_drum_is_never_judged_better(pair):
    assert not laws.better_when_worse(good=pair.file, bad=pair.other)


@examples(40)
@given(drawn.two_readings("rotor_thickness", 1.4, 1.6))
def test_a_thicker_rotor_is_never_judged_worse(pair):
    assert not laws.better_when_worse(good=pair.other, bad=pair.file)


@examples(40)
@given(drawn.two_losses())
def test_a_greater_loss_of_air_is_never_judged_better(pair):
    assert not laws.better_when_worse(good=pair.file, bad=pair.other)


@examples(50)
@given(drawn.shuffled_file())
def test_the_order_of_readings_units_and_fields_changes_no_outcome(pair):
    assert not laws.different_outcomes(pair.file, pair.other)


@examples(40)
@given(drawn.renamed_file())
def test_ids_of_readings_and_the_order_of_combinations_change_no_outcome(pair):
    assert not laws.different_outcomes(pair.file, pair.other)


@examples(150)
@given(drawn.one_more_jurisdiction())
def test_one_more_jurisdiction_never_improves_an_outcome(pair):
    assert not laws.improved_by_a_jurisdiction(pair.file, pair.other)


@examples(40)
@given(drawn.without_a_need())
def test_without_a_needed_reading_no_place_is_good_or_watch(absence):
    assert not laws.passes_unmeasured(absence)


@pytest.mark.parametrize("fact", drawn.FACTS)
@examples(20)
@given(data=st.data())
def test_a_missing_fact_makes_no_breach_good(fact, data):
    assert not laws.excused_by_ignorance(data.draw(drawn.without_a_fact(fact)))


@pytest.mark.parametrize("fact", drawn.FACTS_THAT_DECIDE_A_LIMIT)
@examples(20)
@given(data=st.data())
def test_a_missing_fact_that_decides_a_limit_leaves_no_plain_good(fact, data):
    assert not laws.good_in_doubt(data.draw(drawn.with_a_doubt(fact)))


@examples(40)
@given(strategies.files(), st.data())
def test_a_day_on_which_no_rule_changes_changes_nothing_but_the_day(file, data):
    assert not laws.moved_by_the_day(file, *data.draw(laws.two_days_between_changes()))


@examples(100)
@given(drawn.near_misses())
def test_near_reaches_from_the_limit_to_the_end_of_its_band_and_no_further(case):
    assert not laws.band_misjudged(case)
