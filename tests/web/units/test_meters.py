"""Meters and couplings: a meter never goes back in silence, and a trailer goes as far as what pulls it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from treadle.errors import BadInput
from treadle.web.units.amend import come_back, leave_fleet
from treadle.web.units.couple import combination_of, couple, uncouple
from treadle.web.units.distance import pulled_distance
from treadle.web.units.meters import end_meter, last_shown, note_meter, replace_meter, running_meter
from treadle.web.units.register import FirstMeter

START = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)


def day(number):
    return START + timedelta(days=number)


def slugs(refused):
    return [problem.slug for problem in refused.value.problems]


@pytest.fixture
def tractor(make):
    return make(meter=FirstMeter("100000"))


def test_the_last_reading_is_what_the_meter_shows(tractor, lead):
    note_meter(tractor, "100500", at=day(1), by=lead)
    assert last_shown(tractor).text == "100500 mi"


def test_a_meter_that_shows_less_than_before_is_refused(tractor, lead):
    note_meter(tractor, "100500", at=day(1), by=lead)
    with pytest.raises(BadInput) as refused:
        note_meter(tractor, "100499", at=day(2), by=lead)
    assert slugs(refused) == ["meter_went_back"]


def test_a_reading_entered_late_must_fit_between_those_around_it(tractor, lead):
    note_meter(tractor, "101000", at=day(4), by=lead)
    with pytest.raises(BadInput) as refused:
        note_meter(tractor, "101001", at=day(2), by=lead)
    assert slugs(refused) == ["meter_past_later"]
    assert note_meter(tractor, "100400", at=day(2), by=lead).doubt == ""
    assert last_shown(tractor).text == "101000 mi"


def test_a_reading_from_before_the_meter_was_there_is_refused(tractor, lead):
    with pytest.raises(BadInput) as refused:
        note_meter(tractor, "100500", at=day(-1), by=lead)
    assert slugs(refused) == ["no_meter_then"]


def test_more_than_a_thousand_miles_a_day_is_kept_in_doubt_and_not_counted(tractor, lead):
    # Chosen bound: two drivers in one cab seldom reach 1,000 miles a day.
    assert note_meter(tractor, "101000", at=day(1), by=lead).doubt == ""
    assert note_meter(tractor, "102001", at=day(2), by=lead).doubt == "meter_jumped"
    assert last_shown(tractor).text == "101000 mi"


def test_a_replaced_meter_ends_the_old_one_with_what_it_showed_last(tractor, lead):
    note_meter(tractor, "100500", at=day(1), by=lead)
    old = running_meter(tractor)
    replace_meter(tractor, kind="odometer", measure="mi", reading="12", at=day(2), by=lead, last_reading="100700")
    old.refresh_from_db()
    assert (old.ended_reading, old.ended_why) == ("100700 mi", "replaced")
    assert last_shown(tractor).text == "12 mi"


def test_a_meter_cannot_have_ended_below_what_was_noted_or_before_it_was_read(tractor, lead):
    note_meter(tractor, "100500", at=day(3), by=lead)
    running = running_meter(tractor)
    with pytest.raises(BadInput) as lower:
        end_meter(running, at=day(4), why="stopped", last_reading="100400")
    with pytest.raises(BadInput) as earlier:
        end_meter(running, at=day(2), why="stopped")
    assert (slugs(lower), slugs(earlier)) == (["meter_went_back"], ["ends_before_it_begins"])


def test_a_unit_without_a_meter_has_nothing_to_note(make, lead):
    with pytest.raises(BadInput) as refused:
        note_meter(make(), "100", at=day(1), by=lead)
    assert slugs(refused) == ["no_meter"]


# -- couplings


def test_a_trailer_goes_as_far_as_the_tractor_ahead_of_its_dolly(tractor, make, lead):
    # 5,000 miles in ten days, of which the trailer was coupled the first five: by a straight line 2,500.
    dolly, trailer = make("D-1", layout="dolly_1_drum"), make("T-1", layout="trailer_tandem_drum")
    couple(tractor, dolly, at=day(0), by=lead)
    couple(dolly, trailer, at=day(0), by=lead)
    assert [unit.number for unit in combination_of(dolly)] == ["K-12", "D-1", "T-1"]
    uncouple(trailer, at=day(5), by=lead)
    note_meter(tractor, "105000", at=day(10), by=lead)
    gone = pulled_distance(trailer, since=day(0), until=day(10), measure="mi")
    assert (str(gone.quantity), gone.is_whole, gone.estimated) == ("2500 mi", True, True)


def test_what_no_meter_covers_makes_a_least_distance(make, lead):
    tractor, trailer = make("K-1"), make("T-1", layout="trailer_tandem_drum")
    assert pulled_distance(trailer, since=day(0), until=day(9), measure="mi") is None
    couple(tractor, trailer, at=day(1), by=lead)
    gone = pulled_distance(trailer, since=day(0), until=day(9), measure="mi")
    assert (str(gone.quantity), gone.is_whole) == ("0 mi", False)


def test_couplings_that_cannot_be_are_refused(make, lead):
    one, other, dolly = make("K-1"), make("K-2"), make("D-1", layout="dolly_1_drum")
    first, second = make("T-1", layout="trailer_tandem_drum"), make("T-2", layout="trailer_tandem_drum")
    couple(one, dolly, at=day(1), by=lead)
    couple(dolly, first, at=day(1), by=lead)
    refusals = {}
    for name, towing, towed, at in (
        ("couples_itself", dolly, dolly, day(2)),
        ("power_unit_towed", one, other, day(2)),
        ("couples_in_a_ring", first, dolly, day(2)),
        ("coupled_already", other, dolly, day(2)),
        ("pulls_already", dolly, second, day(2)),
    ):
        with pytest.raises(BadInput) as refused:
            couple(towing, towed, at=at, by=lead)
        refusals[name] = slugs(refused)
    assert refusals == {name: [name] for name in refusals}


def test_uncoupling_what_is_not_coupled_or_before_it_was_is_refused(make, lead):
    tractor, trailer = make("K-1"), make("T-1", layout="trailer_tandem_drum")
    with pytest.raises(BadInput) as nothing:
        uncouple(trailer, at=day(1), by=lead)
    couple(tractor, trailer, at=day(2), by=lead)
    with pytest.raises(BadInput) as before:
        uncouple(trailer, at=day(1), by=lead)
    uncouple(trailer, at=day(3), by=lead)
    with pytest.raises(BadInput) as overlapping:
        couple(tractor, trailer, at=day(2), by=lead)
    assert [slugs(one) for one in (nothing, before, overlapping)] == [
        ["not_coupled"],
        ["uncoupled_before"],
        ["couplings_overlap"],
    ]


def test_a_coupled_unit_does_not_leave_the_fleet_and_one_that_left_can_come_back(make, lead):
    tractor, trailer = make("K-1"), make("T-1", layout="trailer_tandem_drum")
    couple(tractor, trailer, at=day(1), by=lead)
    for unit in (tractor, trailer):
        with pytest.raises(BadInput) as refused:
            leave_fleet(unit, on=day(2).date())
        assert slugs(refused) == ["leaves_coupled"]
    uncouple(trailer, at=day(2), by=lead)
    assert leave_fleet(trailer, on=day(3).date()).left_fleet_on == day(3).date()
    assert come_back(trailer).left_fleet_on is None
