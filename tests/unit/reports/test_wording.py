"""Days, spans, ranges, places and quantities, as people say them."""

from datetime import date, datetime, timedelta, timezone
from fractions import Fraction

import pytest

from treadle.fleet.records import BuildDate
from treadle.measure import read_quantity
from treadle.reports.wording import (
    Run,
    breakable,
    built_of,
    day_of,
    distance_of,
    moment_of,
    range_of,
    runs,
    span_of,
)

ZONE = timezone(timedelta(hours=-6))


def quantity(text, dimension):
    return read_quantity(text, dimension, where="here")


def at(day, hour, minute):
    return datetime(2026, 10, day, hour, minute, tzinfo=ZONE)


def test_a_moment_is_said_by_the_clock_of_its_place():
    assert moment_of(at(2, 7, 40), "en") == "2 October 2026, 07:40"
    assert moment_of(at(2, 7, 40), "es") == "2 de octubre de 2026, 07:40"


@pytest.mark.parametrize("month", range(1, 13))
def test_every_month_has_a_name_in_both_languages(month):
    assert day_of(date(2026, month, 1), "en") != day_of(date(2026, month, 1), "es")


def test_a_span_says_no_more_than_it_must():
    assert span_of([at(2, 7, 40)], "en") == "2 October 2026, 07:40 (UTC-06:00)"
    assert span_of([at(2, 8, 52), at(2, 7, 40)], "en") == "2 October 2026, 07:40 to 08:52 (UTC-06:00)"
    over_night = "2 October 2026, 23:00 to 3 October 2026, 00:30 (UTC-06:00)"
    assert span_of([at(2, 23, 0), at(3, 0, 30)], "en") == over_night


def test_a_build_date_is_no_finer_than_it_is_known():
    assert built_of(BuildDate(date(2019, 3, 1), date(2019, 3, 31), "2019-03"), "en") == "March 2019"
    assert built_of(BuildDate(date(2019, 1, 1), date(2019, 12, 31), "2019"), "en") == "2019"
    assert built_of(BuildDate(date(2019, 3, 4), date(2019, 3, 4), "2019-03-04"), "es") == "4 de marzo de 2019"


def test_thousands_of_a_meter_stand_apart_and_its_decimals_do_not():
    assert distance_of(quantity("412350 mi", "length"), "en") == "412,350 mi"
    assert distance_of(quantity("1412350.1234 mi", "length"), "en") == "1,412,350.1234 mi"
    assert distance_of(quantity("950 km", "length"), "en") == "950 km"


def test_a_range_is_its_least_and_greatest_as_read():
    read = [quantity(text, "pressure") for text in ("95 psi", "98 psi", "91 psi")]
    assert range_of(read, "en") == "91 psi to 98 psi"
    assert range_of(read[:1] * 2, "en") == "95 psi"


@pytest.mark.parametrize("under", [2, 4, 8, 16, 32])
def test_every_fraction_of_a_rule_is_taken_apart(under):
    for over in range(1, under, 2):
        assert runs(f"2 {over}/{under} in") == (Run("in", "2", str(over), str(under)),)
        assert runs(f"{over}/{under} in") == (Run("in", "", str(over), str(under)),)
        assert Fraction(over, under) < 1


def test_what_only_looks_like_a_fraction_stays_text():
    for text in ("open 24/7", "on 10/2, bay 3/4", "rule 1/2/3 in short", "a 1/2 inch socket", "T-1/2 in bay 3"):
        assert all(not run.under for run in runs(text))


def test_a_number_and_its_unit_are_not_parted():
    assert runs("at 94 psi or 6.4 mm")[0].text == "at 94\u00a0psi or 6.4\u00a0mm"


def test_an_overlong_word_may_break_and_others_are_left():
    assert "\u200b" in breakable("x" * 40)
    assert breakable("x" * 24) == "x" * 24
