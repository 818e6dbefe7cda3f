"""The order of the work and what is asked at each stop (common-practice, order of the passes; design, section 3)."""

from __future__ import annotations

import pytest
from web.walkaround.rig import combination

from treadle.web.units.fit import correct_spec
from treadle.web.units.to_core import record_of_unit
from treadle.web.walkaround.passes import passes_of

pytestmark = pytest.mark.usefixtures("in_shop")


@pytest.fixture
def units(person):
    return [record_of_unit(unit) for unit in combination(person("lead"))]


def names(passes):
    return [one.name for one in passes]


def needed(passes, name):
    one = next(each for each in passes if each.name == name)
    return {(field.kind, field.part, field.state) for stop in one.stops for field in stop.fields if field.needed}


def test_the_passes_come_in_the_order_of_the_work(units):
    assert names(passes_of(units, "service")) == ["safe", "look", "rods", "hold", "strokes", "tests"]


def test_each_pass_walks_the_vehicle_in_a_circle(units):
    look = passes_of(units, "service")[1]
    left = [("K-12", 1), ("K-12", 2), ("K-12", 3), ("T-7", 1), ("T-7", 2)]
    went = [(stop.unit, stop.axle, stop.side) for stop in look.stops]
    assert went == [(*end, "left") for end in left] + [(*end, "right") for end in reversed(left)]


def test_the_applied_leak_comes_before_the_first_stroke(units):
    strokes = next(one for one in passes_of(units, "service") if one.name == "strokes")
    assert [(field.kind, field.state) for field in strokes.stops[0].fields] == [("air_loss", "applied")]
    assert strokes.stops[0].unit == "K-12"
    assert all(field.kind == "applied_stroke" for stop in strokes.stops[1:] for field in stop.fields)


def test_a_service_asks_strokes_linings_of_both_shoes_and_a_look_and_no_test_of_the_air(units):
    passes = passes_of(units, "service")
    assert needed(passes, "look") == {("lining", "upper", ""), ("lining", "lower", ""), ("condition", "", "")}
    assert needed(passes, "strokes") == {("applied_stroke", "", "")}
    assert needed(passes, "tests") == needed(passes, "rods") == set()


def test_a_daily_asks_a_look_the_warning_and_the_applied_leak_and_has_no_strokes(units):
    passes = passes_of(units, "daily")
    assert names(passes) == ["safe", "look", "hold", "strokes", "tests"]
    assert needed(passes, "look") == {("condition", "", "")}
    assert needed(passes, "strokes") == {("air_loss", "", "applied")}
    assert needed(passes, "tests") == {("low_air_warning", "", "")}


def test_an_annual_asks_build_up_warning_both_leaks_and_the_spring_brakes(units):
    passes = passes_of(units, "periodic")
    tests = {
        ("build_up", "", ""),
        ("low_air_warning", "", ""),
        ("air_loss", "", "released"),
        ("spring_brake_set", "", ""),
    }
    assert needed(passes, "tests") == tests
    assert needed(passes, "strokes") == {("applied_stroke", "", ""), ("air_loss", "", "applied")}


def test_received_asks_for_the_tags_too(units):
    assert ("tags", "", "") in needed(passes_of(units, "received"), "look")


def test_after_work_only_the_ends_worked_on_are_walked(units):
    touched = frozenset({("K-12", 2, "left"), ("K-12", 2, "right")})
    passes = passes_of(units, "after_work", touched=touched)
    ends = {(stop.unit, stop.axle, stop.side) for one in passes for stop in one.stops if stop.axle is not None}
    assert ends == touched
    assert ("drum_diameter", "", "") in needed(passes, "look")
    assert needed(passes, "rods") == {("free_stroke", "", "")}
    assert ("parking_hold", "", "") in needed(passes, "tests")


def test_where_a_place_asks_for_the_thinnest_point_that_is_asked_too(units):
    places = {("K-12", 2, "left"): frozenset({"centre", "thinnest"}), ("K-12", 3, "left"): frozenset({"thinnest"})}
    look = passes_of(units, "service", lining_places=places)[1]
    stops = {(stop.unit, stop.axle, stop.side): stop for stop in look.stops}

    def asked(place):
        return {field.place for field in stops[place].fields if field.kind == "lining" and field.needed}

    assert asked(("K-12", 2, "left")) == {"centre", "thinnest"}
    assert asked(("K-12", 3, "left")) == {"thinnest"}
    assert asked(("K-12", 1, "left")) == {"centre"}


def test_a_disc_brake_is_read_by_its_pads_and_its_rod_only_where_it_can_be_seen(person):
    lead = person("lead")
    unit = combination(lead)[0]
    for part in unit.parts.filter(axle=2, side="left", slot="foundation"):
        correct_spec(part, {"brake": "air_disc", "spring_brake": True})
    record = record_of_unit(unit)
    passes = passes_of([record], "service")
    at = {
        one.name: [field for stop in one.stops if (stop.axle, stop.side) == (2, "left") for field in stop.fields]
        for one in passes
    }
    assert {(one.kind, one.part) for one in at["look"] if one.needed} == {
        ("lining", "inner"),
        ("lining", "outer"),
        ("wear_indicator", ""),
        ("condition", ""),
    }
    assert [(one.kind, one.needed) for one in at["rods"]] == [("running_clearance", True)]
    assert at["strokes"] == []


def test_the_clock_of_a_leak_stops_after_the_minute_its_figures_are_for(units):
    """The loss is per minute (us-rules D)."""
    fields = [field for one in passes_of(units, "periodic") for stop in one.stops for field in stop.fields]
    assert {field.stops_at for field in fields if field.kind == "air_loss"} == {60}
    assert {field.stops_at for field in fields if field.kind == "build_up"} == {None}
