"""Readings that cannot be so: what a rod and a shoe can do is mechanics (brake-mechanics 3, common practice)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from treadle.fleet.doubts import CLOCKS_MAY_DIFFER, doubts
from treadle.fleet.records import Reading, Taken
from treadle.measure import read_quantity
from treadle.words import LANGUAGES, say

NOW = datetime(2026, 10, 2, 13, 40, tzinfo=UTC)


def read(kind, text, *, minutes=0, **more):
    taken = Taken(at=NOW + timedelta(minutes=minutes), by="R. Quill")
    value = None if text is None else read_quantity(text, "length", where=kind)
    return Reading(unit="K-12", axle=2, side="left", kind=kind, value=value, taken=taken, **more)


def codes(reading, *others, new=None):
    thickness = None if new is None else read_quantity(new, "length", where="new")
    return [one.code for one in doubts(reading, at_the_same_end=others, new_thickness=thickness, now=NOW)]


def test_a_reading_like_any_other_is_not_doubted():
    assert codes(read("applied_stroke", "1 1/2 in"), read("free_stroke", "1/2 in")) == []


@pytest.mark.parametrize(("applied", "doubted"), [("3/8 in", True), ("1/2 in", False), ("5/8 in", False)])
def test_a_rod_cannot_travel_less_with_air_than_by_hand(applied, doubted):
    expected = ["applied_less_than_free"] if doubted else []
    assert codes(read("applied_stroke", applied), read("free_stroke", "1/2 in")) == expected
    assert codes(read("free_stroke", "1/2 in"), read("applied_stroke", applied)) == expected


def test_strokes_in_two_units_are_held_against_each_other_exactly():
    """1/2 in is 12.7 mm (international inch)."""
    free = read("free_stroke", "1/2 in")
    assert codes(read("applied_stroke", "12.6 mm"), free) == ["applied_less_than_free"]
    assert codes(read("applied_stroke", "12.7 mm"), free) == []


def test_of_two_readings_of_a_kind_the_later_counts_in_whatever_order_they_come():
    long, short = read("free_stroke", "2 in", minutes=-20), read("free_stroke", "1/2 in", minutes=-10)
    stroke = read("applied_stroke", "1 1/2 in")
    assert codes(stroke, long, short) == codes(stroke, short, long) == []
    assert codes(stroke, replace(long, taken=read("x", None, minutes=-5).taken), short) == ["applied_less_than_free"]


def test_the_reading_at_hand_counts_and_not_the_one_it_replaces():
    stroke, before = read("applied_stroke", "1 1/2 in"), read("applied_stroke", "1/4 in", minutes=-5)
    assert codes(stroke, before, read("free_stroke", "1/2 in")) == []


def test_a_rods_applied_mark_lies_beyond_its_released_mark():
    released = read("rod_released", "3 in")
    assert codes(read("rod_applied", "2 7/8 in"), released) == ["mark_went_back"]
    assert codes(read("rod_applied", "3 in"), released) == []


def test_the_stroke_between_two_marks_is_held_against_the_free_stroke():
    marks = read("rod_released", "3 in"), read("rod_applied", "3 3/8 in")
    assert codes(read("free_stroke", "1/2 in"), *marks) == ["applied_less_than_free"]
    assert codes(read("free_stroke", "3/8 in"), *marks) == []


def test_a_rod_that_did_not_move_at_all_is_a_finding_and_no_slip():
    stroke = replace(read("applied_stroke", None), special="no_movement")
    assert codes(stroke, read("free_stroke", "1/2 in")) == []


@pytest.mark.parametrize(("given", "doubted"), [("3/4 in", False), ("25/32 in", True), ("19.1 mm", True)])
def test_a_lining_is_never_thicker_than_new(given, doubted):
    """3/4 in is 19.05 mm."""
    lining = read("lining", given, part="upper", place="centre")
    assert codes(lining, new="3/4 in") == (["thicker_than_new"] if doubted else [])
    assert codes(lining) == []


@pytest.mark.parametrize(
    ("given", "doubted"),
    [("28/32 in", False), ("1 in", False), ("25.4 mm", False), ("1 1/32 in", True), ("26 mm", True)],
)
def test_no_lining_is_thicker_than_an_inch_whatever_it_was_when_new(given, doubted):
    """1 in is chosen: common practice, no source, has no new lining or pad that thick."""
    lining = read("lining", given, part="upper", place="centre")
    assert codes(lining) == (["thicker_than_any"] if doubted else [])


def test_a_lining_thicker_than_any_is_asked_about_once():
    assert codes(read("lining", "1 1/2 in"), new="3/4 in") == ["thicker_than_new"]
    assert codes(read("lining", "1 1/2 in"), new="1 1/2 in") == ["thicker_than_any"]


def test_a_phones_clock_may_run_a_little_ahead_and_no_more():
    ahead = int(CLOCKS_MAY_DIFFER.total_seconds() // 60)
    assert codes(read("applied_stroke", "1 in", minutes=ahead)) == []
    assert codes(read("applied_stroke", "1 in", minutes=ahead + 1)) == ["in_the_future"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_doubt_can_be_said(language):
    found = [
        *doubts(
            read("rod_applied", "1 in", minutes=60),
            at_the_same_end=[read("rod_released", "3 in")],
            new_thickness=None,
            now=NOW,
        ),
        *doubts(
            read("free_stroke", "2 in"), at_the_same_end=[read("applied_stroke", "1 in")], new_thickness=None, now=NOW
        ),
        *doubts(
            read("lining", "1 in"),
            at_the_same_end=[],
            new_thickness=read_quantity("3/4 in", "length", where="n"),
            now=NOW,
        ),
    ]
    found += doubts(read("lining", "1 1/2 in"), at_the_same_end=[], new_thickness=None, now=NOW)
    assert {one.code for one in found} == {
        "in_the_future",
        "mark_went_back",
        "applied_less_than_free",
        "thicker_than_new",
        "thicker_than_any",
    }
    for one in found:
        sentence = say(f"doubt.{one.code}", language, **one.details)
        assert all(str(value) in sentence for value in one.details.values())
