"""Meters made into distance: what was read is exact, what lies between is estimated, what nobody knows is named.

The expected distances are sums of the figures written in each test; a mile is 1.609344 km exactly (international yard
and pound agreement, 1959).  That a unit's meters stop, restart and are replaced, that negative differences must not be
dropped in silence, and that a trailer goes by its tractors: common practice, no source.
"""

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treadle.errors import BadInput, OutOfRange
from treadle.measure import read_quantity
from treadle.wear import (
    Coupling,
    Distance,
    Meter,
    MeterReading,
    Segment,
    Span,
    check_reading,
    distance_at,
    distance_between,
    distance_pulled,
    doubtful_jumps,
    filled_by_tractors,
    last_known,
)
from treadle.words import LANGUAGES, explain


def on(day, hour=8):
    return datetime(2026, 1, 1, hour, tzinfo=UTC) + timedelta(days=day)


def read(text):
    return read_quantity(text, "length", where="meter")


def seen(day, text):
    return MeterReading(on(day), read(text))


ONE = [Segment(on(0), read("100000 mi"))]
READINGS = [seen(10, "104000 mi"), seen(30, "110000 mi")]


# -- one meter


def test_the_distance_at_a_reading_is_exact():
    assert distance_at(ONE, READINGS, on(10)) == Distance(Fraction(4000), "mi")
    assert distance_at(ONE, READINGS, on(30)) == Distance(Fraction(10000), "mi")
    assert distance_at(ONE, READINGS, on(0)) == Distance(Fraction(0), "mi")


def test_between_readings_it_goes_with_time_and_is_marked_estimated():
    found = distance_at(ONE, READINGS, on(15))
    assert (found.value, found.estimated) == (5500, True)
    assert distance_between(ONE, READINGS, on(10), on(15)) == Distance(Fraction(1500), "mi", estimated=True)


def test_an_estimate_is_shown_no_finer_than_a_mile():
    found = distance_at(ONE, READINGS, on(10) + timedelta(hours=1))
    assert (str(found.quantity), found.value) == ("4012 mi", 4000 + Fraction(6000, 20 * 24))


@pytest.mark.parametrize("day", [-1, 31])
def test_nothing_is_extrapolated_before_the_first_reading_or_after_the_last(day):
    with pytest.raises(OutOfRange) as refused:
        distance_at(ONE, READINGS, on(day))
    assert refused.value.problems[0].slug == "outside_meter_readings"


def test_the_order_in_which_readings_are_given_does_not_matter():
    assert distance_at(ONE, READINGS[::-1], on(15)) == distance_at(ONE, READINGS, on(15))


def test_a_meter_in_kilometres_gives_exact_miles():
    metric = [Segment(on(0), read("200000 km"))]
    found = distance_at(metric, [seen(5, "201609.344 km")], on(5))
    assert found == Distance(Fraction(1000), "mi")
    assert distance_at(metric, [seen(5, "201000 km")], on(5), unit="km") == Distance(Fraction(1000), "km")


def test_a_replaced_meter_goes_on_where_the_old_one_ended():
    old = Segment(on(0), read("899000 mi"), on(10), read("900500 mi"), "replaced")
    new = Segment(on(10), read("7 km"))
    found = distance_at([new, old], [seen(20, "807 km")], on(20))
    assert (found.value, found.is_whole) == (1500 + Fraction(800_000_000, 1_609_344), True)


def test_a_meter_that_restarted_goes_on_from_its_new_figure():
    before = Segment(on(0), read("99990 mi"), on(3), read("99999 mi"), "restarted")
    after = Segment(on(3), read("0 mi"))
    assert distance_at([before, after], [seen(9, "2400 mi")], on(9)) == Distance(Fraction(2409), "mi")


def test_days_without_any_meter_are_named_and_not_filled():
    old = Segment(on(0), read("5000 mi"), on(10), read("6000 mi"), "replaced")
    new = Segment(on(14), read("0 mi"))
    found = distance_at([old, new], [seen(20, "500 mi")], on(20))
    assert (found.value, found.is_whole, found.unmeasured) == (1500, False, (Span(on(10), on(14)),))
    assert distance_between([old, new], [seen(20, "500 mi")], on(14), on(20)).is_whole
    assert distance_at([old, new], [seen(20, "500 mi")], on(12)) == Distance(
        Fraction(1000), "mi", unmeasured=(Span(on(10), on(12)),)
    )


STOPPED = [
    Segment(on(0), read("10000 mi"), on(40), read("13120 mi"), "stopped"),
    Segment(on(40), read("0 mi")),
]
STOPPED_READINGS = [seen(20, "13000 mi"), seen(60, "4000 mi")]


def test_after_its_last_reading_a_stopped_meter_gives_only_a_least_distance():
    found = distance_at(STOPPED, STOPPED_READINGS, on(60))
    assert (found.value, found.unmeasured) == (7120, (Span(on(20), on(40), Fraction(120)),))
    half_way = distance_at(STOPPED, STOPPED_READINGS, on(30))
    assert (half_way.value, half_way.estimated, half_way.unmeasured) == (3000, False, (Span(on(20), on(30)),))


def test_what_a_stopped_meter_still_counted_is_not_claimed_for_a_part_of_the_span():
    found = distance_between(STOPPED, STOPPED_READINGS, on(30), on(60))
    assert (found.value, found.unmeasured) == (4000, (Span(on(30), on(40)),))


def test_the_last_reading_says_how_far_is_known():
    assert last_known(ONE, READINGS) == (on(30), Distance(Fraction(10000), "mi"))


# -- what is refused


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_meter_that_went_back_is_refused_and_asks_whether_it_was_replaced(language):
    with pytest.raises(BadInput) as refused:
        distance_at(ONE, [*READINGS, seen(35, "109990 mi")], on(35), where="K-12")
    (problem,) = refused.value.problems
    assert (problem.slug, problem.where) == ("meter_went_back", "K-12")
    sentence = explain(refused.value, language)
    asked = {"en": "Was the meter replaced?", "es": "¿Se cambió el medidor?"}[language]
    assert all(part in sentence for part in (asked, "109990 mi", "110000 mi", "K-12")), sentence


def test_a_reading_equal_to_the_last_is_taken():
    assert distance_at(ONE, [*READINGS, seen(35, "110000 mi")], on(35)).value == 10000


def test_a_segment_that_ends_lower_than_its_last_reading_is_refused():
    ended = [Segment(on(0), read("100000 mi"), on(40), read("109000 mi"), "replaced")]
    with pytest.raises(BadInput) as refused:
        distance_at(ended, READINGS, on(40))
    assert refused.value.problems[0].slug == "meter_went_back"


@pytest.mark.parametrize("first_end", [None, on(12)])
def test_two_meters_at_once_are_refused(first_end):
    ended_at = None if first_end is None else read("101000 mi")
    segments = [Segment(on(0), read("100000 mi"), first_end, ended_at), Segment(on(10), read("0 mi"))]
    with pytest.raises(BadInput) as refused:
        distance_at(segments, [], on(5))
    assert refused.value.problems[0].slug == "meters_overlap"


@pytest.mark.parametrize("day", [-1, 12])
def test_a_reading_when_no_meter_was_in_use_is_refused(day):
    segments = [
        Segment(on(0), read("0 mi"), on(10), read("900 mi"), "replaced"),
        Segment(on(14), read("0 mi")),
    ]
    with pytest.raises(BadInput) as refused:
        distance_at(segments, [seen(day, "10 mi")], on(5))
    assert refused.value.problems[0].slug == "no_meter_then"


def test_a_segment_that_ends_before_it_begins_is_refused():
    with pytest.raises(BadInput) as refused:
        distance_at([Segment(on(5), read("0 mi"), on(4), read("1 mi"))], [], on(5))
    assert refused.value.problems[0].slug == "ends_before_it_begins"
    with pytest.raises(BadInput) as refused:
        distance_between(ONE, READINGS, on(10), on(9))
    assert refused.value.problems[0].slug == "ends_before_it_begins"


def test_a_moment_without_offset_is_refused():
    with pytest.raises(BadInput) as refused:
        distance_at(ONE, READINGS, datetime(2026, 1, 11, 8))  # noqa: DTZ001 - that is the fault under test
    assert refused.value.problems[0].slug == "time_without_offset"


def test_without_any_meter_there_is_no_distance():
    with pytest.raises(OutOfRange) as refused:
        distance_at([], [], on(0))
    assert refused.value.problems[0].slug == "no_meter"


# -- what is doubtful: more than 1,000 mi a day since the last reading (chosen)


def test_a_thousand_miles_a_day_is_no_jump_and_a_mile_more_is():
    assert doubtful_jumps(ONE, [seen(2, "102000 mi")]) == ()
    (jump,) = doubtful_jumps(ONE, [seen(2, "102001 mi")])
    assert (jump.since, jump.until, jump.distance, jump.a_day) == (on(0), on(2), 2001, Fraction(2001, 2))


def test_readings_hours_apart_are_held_against_a_whole_day():
    later = MeterReading(on(0, 10), read("100120 mi"))
    assert doubtful_jumps(ONE, [later]) == ()
    assert len(doubtful_jumps(ONE, [MeterReading(on(0, 10), read("101001 mi"))])) == 1


def test_a_meter_in_kilometres_is_held_against_the_same_distance():
    metric = [Segment(on(0), read("0 km"))]
    assert doubtful_jumps(metric, [seen(1, "1609.344 km")]) == ()
    assert len(doubtful_jumps(metric, [seen(1, "1610 km")])) == 1


def test_from_one_meter_to_the_next_there_is_no_jump():
    segments = [Segment(on(0), read("10 mi"), on(1), read("20 mi"), "replaced"), Segment(on(1), read("400000 mi"))]
    assert doubtful_jumps(segments, []) == ()


def test_a_new_reading_is_checked_beside_those_on_record():
    assert check_reading(ONE, READINGS, seen(33, "112000 mi")) is None
    jump = check_reading(ONE, READINGS, seen(33, "140000 mi"))
    assert jump is not None
    assert jump.a_day == 10000
    for wrong in (seen(33, "109999 mi"), seen(20, "110001 mi")):
        with pytest.raises(BadInput) as refused:
            check_reading(ONE, READINGS, wrong)
        assert refused.value.problems[0].slug == "meter_went_back"


def test_an_old_jump_is_not_laid_at_a_new_reading():
    assert check_reading(ONE, [seen(1, "140000 mi")], seen(30, "141000 mi")) is None


# -- a trailer by its tractors

TRACTORS = {
    "K-1": Meter((Segment(on(0), read("0 mi")),), (seen(100, "50000 mi"),)),
    "K-2": Meter((Segment(on(0), read("0 km")),), (seen(100, "160934.4 km"),)),
}


def test_a_trailer_goes_as_far_as_what_pulled_it():
    couplings = [Coupling("K-2", on(50), on(60)), Coupling("K-1", on(0), on(10))]
    found = distance_pulled(couplings, TRACTORS, on(0), on(100))
    assert found == Distance(Fraction(5000 + 10000), "mi", estimated=True)


def test_a_coupling_from_reading_to_reading_is_exact():
    assert distance_pulled([Coupling("K-1", on(0), on(100))], TRACTORS, on(0), on(100)) == Distance(
        Fraction(50000), "mi"
    )


def test_the_current_coupling_is_open():
    found = distance_pulled([Coupling("K-1", on(90))], TRACTORS, on(80), on(100))
    assert (found.value, found.is_whole) == (5000, True)


def test_what_the_tractor_has_not_read_yet_is_named():
    found = distance_pulled([Coupling("K-1", on(90))], TRACTORS, on(80), on(130))
    assert (found.value, found.unmeasured) == (5000, (Span(on(100), on(130)),))
    unknown = distance_pulled([Coupling("K-9", on(90), on(95))], TRACTORS, on(0), on(100))
    assert (unknown.value, unknown.unmeasured) == (0, (Span(on(90), on(95)),))


def test_standing_uncoupled_it_goes_nowhere():
    assert distance_pulled([Coupling("K-1", on(0), on(10))], TRACTORS, on(10), on(90)) == Distance(Fraction(0), "mi")


@pytest.mark.parametrize("first_end", [None, on(21)])
def test_two_tractors_at_once_are_refused_with_both_named(first_end):
    couplings = [Coupling("K-1", on(0), first_end), Coupling("K-2", on(20), on(30))]
    with pytest.raises(BadInput) as refused:
        distance_pulled(couplings, TRACTORS, on(0), on(40), where="T-7")
    (problem,) = refused.value.problems
    assert problem.slug == "couplings_at_once"
    assert all(name in explain(refused.value) for name in ("T-7", "K-1", "K-2"))


def test_couplings_that_meet_do_not_overlap():
    couplings = [Coupling("K-1", on(0), on(20)), Coupling("K-2", on(20), on(30))]
    assert distance_pulled(couplings, TRACTORS, on(0), on(40)).value == 10000 + 10000


def test_what_a_stopped_hub_odometer_missed_is_filled_from_its_tractors():
    own = distance_at(STOPPED, STOPPED_READINGS, on(60))
    filled = filled_by_tractors(own, [Coupling("K-1", on(20), on(40))], TRACTORS)
    assert (filled.value, filled.estimated, filled.is_whole) == (7000 + 10000, True, True)


def test_filling_never_takes_away_what_the_meter_itself_counted():
    own = distance_at(STOPPED, STOPPED_READINGS, on(60))
    filled = filled_by_tractors(own, [], TRACTORS)
    assert filled.value == own.value == 7120


# -- for any meter


@given(st.lists(st.tuples(st.integers(1, 40), st.integers(0, 30000)), min_size=2, max_size=8), st.data())
def test_distances_add_up_and_never_shrink(steps, data):
    day, miles, readings = 0, 0, []
    for days, more in steps:
        day, miles = day + days, miles + more
        readings.append(seen(day, f"{miles} mi"))
    segments = [Segment(on(0), read("0 mi"))]
    first, second, third = sorted(data.draw(st.lists(st.integers(0, day), min_size=3, max_size=3)))
    one, two, both = (
        distance_between(segments, readings, on(a), on(b)).value
        for a, b in ((first, second), (second, third), (first, third))
    )
    assert one >= 0
    assert two >= 0
    assert one + two == both <= miles
