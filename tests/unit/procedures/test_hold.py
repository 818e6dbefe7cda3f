"""Hold points that refuse to be skipped: each thing that lacks is named, and nothing else is asked for."""

import pytest

from treadle.measure import read_quantity
from treadle.procedures import Entry, Facts, StepRecord, TorqueDone, torque_records, what_is_missing
from treadle.words import LANGUAGES


def codes(step, record):
    missing = what_is_missing(step, record)
    for language in LANGUAGES:
        assert all(one.says.says(language).endswith(".") for one in missing)
    return [one.code for one in missing]


def size(text, dimension="length"):
    return read_quantity(text, dimension, where="test")


def lining(part, value="3/4 in", place="centre"):
    return Entry("lining", size(value), part=part, place=place)


def test_a_step_without_a_hold_point_wants_to_know_only_who_did_it(steps):
    step = steps()["make_safe.raise"]
    assert codes(step, StepRecord("ann")) == []
    assert codes(step, StepRecord("")) == codes(step, StepRecord(None)) == ["not_done_by"]


def test_a_step_to_confirm_is_not_passed_unconfirmed(steps):
    step = steps()["strip.cage/left"]
    assert codes(step, StepRecord("ann")) == ["not_confirmed"]
    assert codes(step, StepRecord("ann", confirmed=True)) == []


def test_a_second_look_takes_a_second_person_who_is_somebody_else(steps):
    step = steps()["rebuild.springs_seated/left"]
    assert codes(step, StepRecord("ann")) == ["not_confirmed", "no_second_person"]
    assert codes(step, StepRecord("ann", confirmed=True, second="")) == ["no_second_person"]
    assert codes(step, StepRecord("ann", confirmed=True, second="ann")) == ["same_person"]
    assert codes(step, StepRecord("ann", second="bea")) == ["not_confirmed"]
    assert codes(step, StepRecord("ann", confirmed=True, second="bea")) == []


def test_a_measurement_is_not_passed_by_a_confirmation(steps):
    step = steps()["prove.applied_stroke/left"]
    assert codes(step, StepRecord("ann", confirmed=True)) == ["no_measurement"]
    assert codes(step, StepRecord("ann", (Entry("free_stroke", size("1/2 in")),))) == ["no_measurement"]
    assert codes(step, StepRecord("ann", (Entry("applied_stroke", size("1 3/4 in")),))) == []


def test_an_entry_of_no_value_or_of_another_dimension_is_no_measurement(steps):
    step = steps()["prove.applied_stroke/left"]
    for entry in (Entry("applied_stroke"), Entry("applied_stroke", ""), Entry("applied_stroke", "fine")):
        assert codes(step, StepRecord("ann", (entry,))) == ["no_measurement"]
    assert codes(step, StepRecord("ann", (Entry("applied_stroke", size("90 psi", "pressure")),))) == ["no_measurement"]


def test_whether_a_measurement_is_within_its_limit_is_not_for_the_hold_point_to_say(steps):
    step = steps()["prove.applied_stroke/left"]
    assert codes(step, StepRecord("ann", (Entry("applied_stroke", size("5 in")),))) == []
    assert codes(step, StepRecord("ann", (Entry("applied_stroke", special="bottomed"),))) == []


def test_a_word_answers_what_is_looked_at(steps):
    assert codes(steps()["prove.condition/left"], StepRecord("ann", (Entry("condition", "none_seen"),))) == []
    assert codes(steps()["prove.parking_hold"], StepRecord("ann", (Entry("parking_hold", "held"),))) == []


def test_both_shoes_are_measured_and_named(steps):
    step = steps()["prove.lining/left"]
    assert codes(step, StepRecord("ann", (lining("upper"),))) == ["too_few"]
    assert codes(step, StepRecord("ann", (lining("upper"), lining("upper")))) == ["same_part"]
    assert codes(step, StepRecord("ann", (lining("upper"), lining(None)))) == ["same_part"]
    assert codes(step, StepRecord("ann", (lining("upper"), lining("lower")))) == []


def test_a_lining_at_its_thinnest_is_not_one_at_the_centre(steps):
    # 49 CFR 393.47(d) measures at the shoe's centre; found, in the sheet of US rules.
    step = steps()["prove.lining/left"]
    thinnest = (lining("upper", place="thinnest"), lining("lower", place="thinnest"))
    assert codes(step, StepRecord("ann", thinnest)) == ["no_measurement"]


def test_a_drum_is_measured_at_more_than_one_place(steps):
    step = steps()["inspect.drum_size/left"]
    one = Entry("drum_diameter", size("16.55 in"))
    assert codes(step, StepRecord("ann", (one,))) == ["too_few"]
    assert codes(step, StepRecord("ann", (one, one))) == []


def test_a_leak_test_of_the_released_brake_is_not_the_applied_one(steps):
    step = steps()["prove.leak"]
    loss = size("99 psi", "pressure")
    assert codes(step, StepRecord("ann", (Entry("air_loss", loss, state="released"),))) == ["no_measurement"]
    assert codes(step, StepRecord("ann", (Entry("air_loss", loss, state="applied"),))) == []


@pytest.mark.parametrize(
    ("pressure", "missing"),
    [("99 psi", ["below_figure"]), ("100 psi", []), ("120 psi", []), ("689 kPa", ["below_figure"]), ("690 kPa", [])],
)
def test_spring_brakes_are_not_released_under_the_system_pressure(pressure, missing, steps):
    # common practice, no source: at least 100 psi, which is 689.5 kPa
    record = StepRecord("ann", (Entry("reservoir", size(pressure, "pressure")),))
    assert codes(steps()["make_safe.pressure"], record) == missing


# -- torque


def done(**changes):
    fields = {"record": "hub_m22", "wrench": "W-3", "value": size("475 lbf·ft", "torque"), "lubrication": "two drops"}
    return StepRecord("ann", torque=TorqueDone(**fields | changes))


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        ({}, []),
        ({"wrench": " "}, ["no_wrench"]),
        ({"record": "ball_seat"}, ["unknown_torque_record"]),
        ({"record": ""}, ["unknown_torque_record"]),
        ({"lubrication": ""}, ["no_lubrication"]),
        ({"record": "hub_m22_newsletter", "lubrication": ""}, []),
        ({"value": size("449 lbf·ft", "torque")}, ["outside_band"]),
        ({"value": size("450 lbf·ft", "torque")}, []),
        ({"value": size("500 lbf·ft", "torque")}, []),
        ({"value": size("501 lbf·ft", "torque")}, ["outside_band"]),
        ({"value": size("540 lbf·ft", "torque"), "record": "hub_m22_newsletter"}, []),
        ({"value": size("644 N·m", "torque")}, []),  # 475 lbf·ft
        ({"value": size("600 N·m", "torque")}, ["outside_band"]),
        ({"value": size("475 psi", "pressure")}, ["outside_band"]),
        ({"value": size("1 in"), "wrench": ""}, ["no_wrench", "outside_band"]),
    ],
)
def test_a_torque_is_by_one_record_with_a_wrench_that_has_a_number(changes, missing, steps):
    assert codes(steps()["refit.torque/left"], done(**changes)) == missing


def test_a_wheel_without_its_torque_is_not_done(steps):
    assert codes(steps()["refit.torque/left"], StepRecord("ann", confirmed=True)) == ["no_torque"]


def test_the_shops_own_record_is_the_only_one_that_counts_where_there_is_one(steps):
    (own,) = torque_records("hub_piloted_m20")
    step = steps(facts=Facts(mounting="hub_piloted_m22", torque=own))["refit.torque/left"]
    assert codes(step, done()) == ["unknown_torque_record"]
    assert codes(step, done(record="hub_m20", value=size("300 lbf·ft", "torque"))) == []


def test_a_search_for_a_cause_ends_only_when_what_was_found_is_written_down(steps):
    # Common practice, no source: a stroke that comes back in is no repair, so the cause is named or said not found.
    cause = steps("find_overstroke_cause")["find.cause/left"]
    assert codes(cause, StepRecord("ann", confirmed=True, note=" ")) == ["no_note"]
    assert codes(cause, StepRecord("ann", confirmed=True, note="Bushing worn, 0.060 in of play.")) == []
