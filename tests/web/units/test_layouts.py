"""Layouts: each makes a whole vehicle, and nothing in it stands against a published size."""

from __future__ import annotations

from fractions import Fraction

import pytest

from treadle.measure import read_quantity
from treadle.web.units.layouts import layout_of, layouts
from treadle.web.units.models import Unit
from treadle.web.units.specs import FIELDS, said_of
from treadle.web.units.to_core import record_of_unit
from treadle.words import LANGUAGES, say

EVERY = sorted(layouts())
RATED = {("20", "standard"): "2.25 in", ("24", "standard"): "2.25 in", ("30", "standard"): "2.5 in"}
"""Rated strokes of the brake-mechanics sheet: type 30 2.5 in (found), 20 and 24 (FMVSS 121 Table V, memory)."""


def parts_of(slot):
    return [
        (name, axle.parts[slot]) for name, layout in layouts().items() for axle in layout.axles if slot in axle.parts
    ]


def inches(text):
    return read_quantity(text, "length", where="test").in_unit("in")


@pytest.mark.parametrize("name", EVERY)
def test_every_layout_makes_a_vehicle_that_can_be_judged(make, name):
    unit = make(layout=name)
    record = record_of_unit(unit)
    assert record.kind == layout_of(name).kind
    assert len(record.axles) == len(layout_of(name).axles)
    assert all(axle.end(side).chamber is not None for axle in record.axles for side in ("left", "right"))


def test_the_ten_wheel_ends_of_a_tractor_and_its_trailer_are_there():
    assert layout_of("tractor_3_drum").ends + layout_of("trailer_tandem_drum").ends == 10


def test_every_drum_is_discarded_at_0_120_in_over_its_nominal_size():
    # Brake-mechanics sheet, 8.1 (found in makers' bulletins): 0.120 in over nominal unless the casting says otherwise.
    drums = parts_of("drum")
    assert drums
    for name, drum in drums:
        assert inches(drum["discard"]) - inches(drum["nominal"]) == Fraction(120, 1000), name


def test_every_chamber_has_the_rated_stroke_of_its_type_and_class():
    for name, chamber in parts_of("chamber"):
        assert chamber["rated_stroke"] == RATED[chamber["type"], chamber["stroke_class"]], name


def test_no_layout_claims_a_long_stroke_a_rotor_size_or_a_rating(make):
    # Practice does not settle them, and each would loosen a limit or let a worn part pass.
    assert {chamber["stroke_class"] for _, chamber in parts_of("chamber")} == {"standard"}
    assert all(not rotor for _, rotor in parts_of("rotor"))
    assert {axle.gawr for axle in make().axles.all()} == {""}


def test_steering_axles_have_single_wheels_and_no_spring_brakes():
    for name, layout in layouts().items():
        for axle in layout.axles:
            if axle.role == "steer":
                assert not axle.dual, name
                assert axle.parts["foundation"]["spring_brake"] is False, name


def test_whether_a_dolly_has_spring_brakes_is_left_to_who_looks():
    # A spring brake that is there and not on record could be opened without being caged.
    assert all("spring_brake" not in axle.parts["foundation"] for axle in layout_of("dolly_1_drum").axles)


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_layout_kind_and_word_of_a_part_can_be_said(language):
    for name in layouts():
        assert say(f"units.layout.{name}", language)
    for kind in Unit.Kind.values:
        assert say(f"units.kind_many.{kind}", language)
    for slot, fields in FIELDS.items():
        assert say(f"units.slot.{slot}", language)
        for field in fields:
            assert say(f"units.spec.{slot}.{field.name}", language)
            assert all(said_of(slot, field, word, language) for word in field.words)
