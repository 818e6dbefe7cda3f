"""Units as last seen: the last of each kind since the part was fitted, with its age (design, section 3)."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from web.line import measure_end, read, walk
from web.walkaround.rig import HELD, combination, walk_of

from treadle.web.units.fit import fit
from treadle.web.walkaround import enter
from treadle.web.walkaround.judge import judge_as_last_seen, work_out_standings
from treadle.web.walkaround.models import Standing
from treadle.web.walkaround.to_core import as_file, as_last_seen, one_at_a_time, record_of

pytestmark = pytest.mark.usefixtures("in_shop")
NOW = timezone.now()
HERE = {"unit": "K-12", "axle": 2, "side": "left"}


@pytest.fixture
def technician(person):
    return person("technician", "lead")


@pytest.fixture
def line(technician):
    return combination(technician)


def seen(units, kind, at=NOW, **where):
    """The values of a kind that count at a place."""
    file = as_last_seen(units, at=at, occasion="service", by="R. Quill", zone="America/Denver")
    place = HERE | where
    return [
        one.get("value")
        for one in file["readings"]
        if one["kind"] == kind and all(one.get(name) == value for name, value in place.items())
    ]


def stroke(walked, by, shop, value, *, at, **more):
    return read(walked, by, shop, at=at, **{**HERE, "kind": "applied_stroke", "value": value, **HELD, **more})


def days(number):
    return NOW - timedelta(days=number)


def test_the_last_walk_arounds_reading_counts(line, technician, shop):
    for age, value in ((40, "1 in"), (10, "1 1/2 in"), (20, "1 1/4 in")):
        stroke(walk_of(line[0], technician, at=days(age)), technician, shop, value, at=days(age))
    assert seen(line, "applied_stroke") == ["1 1/2 in"]
    assert seen(line, "applied_stroke", at=days(15)) == ["1 1/4 in"]


def test_a_kind_not_read_last_time_still_stands_from_the_time_before(line, technician, shop):
    first, second = walk_of(line[0], technician, at=days(20)), walk_of(line[0], technician, at=days(5))
    measure_end(first, (line[0], 2, "left"), technician, shop, at=days(20), lining="9/16 in")
    stroke(second, technician, shop, "1 3/4 in", at=days(5))
    assert seen(line, "applied_stroke") == ["1 3/4 in"]
    assert seen(line, "lining", shoe="upper", place="centre") == ["9/16 in"]


def test_both_strokes_of_one_walk_stand_and_the_core_takes_the_later(line, technician, shop):
    walked = walk_of(line[0], technician, at=days(3))
    stroke(walked, technician, shop, "2 1/8 in", at=days(3))
    stroke(walked, technician, shop, "1 7/8 in", at=days(3) + timedelta(minutes=5))
    assert seen(line, "applied_stroke") == ["2 1/8 in", "1 7/8 in"]
    record = record_of(as_last_seen(line, at=NOW, occasion="service", by="x", zone="America/Denver"))
    assert [str(one.value) for one in record.readings] == ["1 7/8 in"]


def test_a_corrected_reading_gives_way_and_one_taken_back_is_gone(line, technician, shop):
    walked = walk_of(line[0], technician, at=days(3))
    wrong = stroke(walked, technician, shop, "2 1/8 in", at=days(3))
    right = stroke(walked, technician, shop, "1 1/8 in", at=days(3), corrects=str(wrong.pk))
    assert seen(line, "applied_stroke") == ["1 1/8 in"]
    stroke(walked, technician, shop, None, at=days(2), corrects=str(right.pk), withdraws=True)
    assert seen(line, "applied_stroke") == []


def test_a_reading_that_cannot_be_so_leaves_the_one_before_it_standing(line, technician, shop):
    before, walked = walk_of(line[0], technician, at=days(20)), walk_of(line[0], technician, at=days(3))
    stroke(before, technician, shop, "1 1/2 in", at=days(20))
    read(walked, technician, shop, at=days(3), **HERE, kind="free_stroke", value="1/2 in")
    stroke(walked, technician, shop, "1/4 in", at=days(3), stated_reason="read twice")
    assert seen(line, "applied_stroke") == ["1 1/2 in"]
    assert seen(line, "not_seen") == []


def test_on_its_own_walk_a_reading_that_cannot_be_so_is_not_seen(line, technician, shop):
    walked = walk_of(line[0], technician, at=days(3))
    read(walked, technician, shop, at=days(3), **HERE, kind="free_stroke", value="1/2 in")
    stroke(walked, technician, shop, "1/4 in", at=days(3), stated_reason="read twice")
    entries = [one for one in as_file(walked)["readings"] if one["kind"] == "not_seen"]
    assert [(one["what"], one["reason"]) for one in entries] == [("applied_stroke", "read twice")]


def test_what_was_not_seen_and_never_read_says_so(line, technician, shop):
    walked = walk_of(line[0], technician, at=days(3))
    read(walked, technician, shop, at=days(3), **HERE, kind="not_seen", what="applied_stroke", reason="rod hidden")
    assert len(seen(line, "not_seen")) == 1


@pytest.mark.parametrize(
    ("slot", "kinds"),
    [
        ("lining", ({"lining", "applied_stroke", "condition"}, {"drum_diameter"})),
        ("chamber", ({"applied_stroke", "condition"}, {"lining", "drum_diameter"})),
        ("drum", ({"drum_diameter", "condition"}, {"lining", "applied_stroke"})),
    ],
)
def test_a_reading_from_before_a_part_was_fitted_says_nothing_of_it(line, technician, shop, slot, kinds):
    gone, stays = kinds
    walked = walk_of(line[0], technician, at=days(20))
    measure_end(walked, (line[0], 2, "left"), technician, shop, at=days(20), drum="+.020 in")
    old = line[0].parts.get(axle=2, side="left", slot=slot, removed_at=None)
    fit(line[0], axle=2, side="left", slot=slot, spec=old.spec, at=days(10), by=technician)
    for kind in gone:
        assert seen(line, kind) == [], kind
    for kind in stays:
        assert seen(line, kind) != [], kind
    assert seen(line, "drum_diameter", side="right") == []


def test_a_walk_around_given_up_counts_for_nothing(line, technician, shop):
    walked = walk_of(line[0], technician, at=days(3))
    stroke(walked, technician, shop, "2 1/2 in", at=days(3))
    enter.abandon(walked, by=technician, at=NOW)
    assert seen(line, "applied_stroke") == []


def test_a_reading_past_ninety_days_no_longer_counts_as_seen(line, technician, shop):
    """Default interval 90 days (design, section 3): on the 90th day it counts, after it it is unseen."""
    walk(line[0], technician, shop, at=days(10))
    _, _, fresh = judge_as_last_seen(line, shop, at=NOW, by=technician)
    _, _, last_day = judge_as_last_seen(line, shop, at=days(10) + timedelta(days=90), by=technician)
    _, _, old = judge_as_last_seen(line, shop, at=days(10) + timedelta(days=92), by=technician)
    assert {fresh.outcome, last_day.outcome} <= {"good", "watch"}
    assert old.outcome == "unseen"
    assert "too_old" in {one.why for one in old.not_judged}


def test_a_reading_without_its_own_pressure_takes_that_of_its_walk(line, technician, shop):
    walked = walk_of(line[0], technician, at=days(3))
    enter.note(walked, by=technician, at=days(3), circumstances={"reservoir": "88 psi", "engine": "off"})
    read(walked, technician, shop, at=days(3), **HERE, kind="applied_stroke", value="1 in")
    file = as_last_seen(line, at=NOW, occasion="service", by="x", zone="America/Denver")
    assert (file["readings"][0]["reservoir"], file["readings"][0]["engine"]) == ("88 psi", "off")


def test_two_readings_of_one_moment_never_stop_a_walk_from_being_judged(line, technician, shop):
    walked = walk_of(line[0], technician, at=days(3))
    first = stroke(walked, technician, shop, "1 1/2 in", at=days(3))
    second = stroke(walked, technician, shop, "1 5/8 in", at=days(3))
    assert [one.pk for one in one_at_a_time([second, first])] == [second.pk]
    assert [str(one.value) for one in record_of(as_file(walked)).readings] == ["1 5/8 in"]


def test_standings_take_as_many_queries_for_two_combinations_as_their_readings_need(line, technician, shop):
    walk(line[0], technician, shop, at=days(3))
    few = queries_of(line, shop, technician)
    for age in (9, 8, 7):
        walk(line[0], technician, shop, at=days(age))
    assert queries_of(line, shop, technician) == few
    assert Standing.objects.count() == 2


def queries_of(line, shop, by):
    with CaptureQueriesContext(connection) as asked:
        work_out_standings(line, shop=shop, by=by, at=NOW)
    return len(asked)
