"""Registering: a unit comes whole or not at all, and everything wrong with it is named at once."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from treadle.errors import BadInput
from treadle.web.base.scope import shop_scope
from treadle.web.units.models import Axle, FittedPart, MeterSegment, Unit
from treadle.web.units.register import FirstMeter, register
from treadle.web.units.to_core import record_of_unit

VIN = "1ZZBA48X0KZ123456"
"""Of no vehicle: only its form matters here."""


def slugs(refused):
    return [problem.slug for problem in refused.value.problems]


def test_a_tractor_is_registered_with_its_axles_parts_and_meter(make):
    unit = make(meter=FirstMeter("412350"))
    assert [axle.role for axle in unit.axles.all()] == ["steer", "drive", "drive"]
    assert FittedPart.objects.filter(unit=unit, slot="chamber").count() == 6
    assert unit.meter_segments.get().began_reading == "412350 mi"
    assert {part.fitted_meter for part in unit.parts.all()} == {"412350 mi"}


def test_what_differs_from_the_layout_is_registered_with_it(make):
    longer = {"stroke_class": "long", "rated_stroke": "3 in"}
    unit = make(
        overrides={
            (2, "both", "chamber"): longer,
            (1, "left", "lining"): {"lining_type": "A-23", "lining_attachment": ""},
            (1, "left", "hardware"): {"kit": "H-1"},
        },
        ratings={1: "12000 lb"},
        lots={(2, "right", "chamber"): "C-9"},
    )
    record = record_of_unit(unit)
    assert [record.axles[1].end(side).chamber.stroke_class for side in ("left", "right")] == ["long", "long"]
    assert record.axles[2].left.chamber.stroke_class == "standard"
    assert (record.axles[0].left.lining_type, record.axles[0].right.lining_type) == ("A-23", None)
    assert record.axles[0].left.lining_attachment is None
    assert str(record.axles[0].gawr) == "12000 lb"
    assert unit.parts.get(axle=1, side="left", slot="hardware").spec == {"kit": "H-1"}
    assert unit.parts.get(axle=2, side="right", slot="chamber").lot == "C-9"


def test_everything_wrong_is_named_at_once_and_nothing_is_kept(make):
    make("K-1", vin=VIN)
    with pytest.raises(BadInput) as refused:
        make(
            "k-1",
            built="2019-13",
            runs_in=["us", "atlantis"],
            vin=VIN.lower(),
            overrides={(9, "left", "drum"): {}, (2, "left", "drum"): {"discard": "big"}},
            ratings={1: "much"},
            meter=FirstMeter("far"),
        )
    assert sorted(slugs(refused)) == sorted(
        [
            "unit_number_taken",
            "unreadable_build_date",
            "unknown_jurisdiction",
            "vin_taken",
            "unknown_axle",
            "unreadable_quantity",
            "unreadable_quantity",
            "unreadable_quantity",
        ]
    )
    assert Unit.objects.count() == 1


@pytest.mark.parametrize("number", ["", "-7", "K/12", "K?1", ".", "K" * 41, "K\n1"])
def test_a_number_that_cannot_stand_in_an_address_is_refused(make, number):
    with pytest.raises(BadInput) as refused:
        make(number)
    assert slugs(refused) == ["unit_number_unusable"]


@pytest.mark.parametrize("vin", [VIN[:-1], VIN[:-1] + "I", VIN[:-1] + "O", VIN[:-1] + "Q", VIN + "1", VIN[:-1] + "-"])
def test_a_vin_is_17_letters_and_figures_without_i_o_and_q(make, vin):
    # 49 CFR 565.13(b) and (f), ISO 3779: seventeen characters; the letters I, O and Q are not used.
    with pytest.raises(BadInput) as refused:
        make(vin=vin)
    assert slugs(refused) == ["vin_unusable"]


def test_a_vin_is_kept_in_capitals(make):
    assert make(vin=VIN.lower()).vin == VIN


def test_a_unit_built_tomorrow_is_refused_and_one_built_this_month_is_not(make):
    at = datetime(2026, 3, 1, 3, 0, tzinfo=UTC)  # still 28 February in Denver
    with pytest.raises(BadInput) as refused:
        make("K-1", built="2026-03", at=at)
    assert slugs(refused) == ["built_in_future"]
    assert make("K-2", built="2026-02", at=at).built == "2026-02"


def test_a_unit_that_runs_nowhere_is_refused(make):
    with pytest.raises(BadInput) as refused:
        make(runs_in=[])
    assert slugs(refused) == ["runs_nowhere"]


def test_an_unknown_layout_is_refused_with_what_else_is_wrong(make):
    with pytest.raises(BadInput) as refused:
        make(layout="unicycle", vin="short")
    assert slugs(refused) == ["vin_unusable", "unknown_layout"]


def test_air_brakes_without_a_chamber_are_no_whole_vehicle_and_nothing_is_kept(make):
    wanting = dict.fromkeys(("design", "type", "stroke_class", "rated_stroke"), "")
    with pytest.raises(BadInput):
        make(overrides={(1, "left", "chamber"): wanting})
    assert (Unit.objects.count(), Axle.objects.count(), MeterSegment.objects.count()) == (0, 0, 0)


def test_what_is_registered_has_its_history_from_the_first(make, lead):
    unit = make()
    assert unit.history.count() == 1
    assert {part.history.count() for part in unit.parts.all()} == {1}
    assert {axle.history.get().history_user_id for axle in unit.axles.all()} == {lead.pk}


def test_another_shop_may_have_the_same_number_and_vin(make, other_shop, person):
    make(vin=VIN)
    theirs = person("lead", at=other_shop)
    with shop_scope(other_shop.pk):
        register(
            number="K-12",
            layout="tractor_2_drum",
            built="2018",
            runs_in=["us"],
            vin=VIN,
            by=theirs,
            at=datetime(2026, 3, 2, tzinfo=UTC),
        )
        assert Unit.objects.count() == 1
    assert Unit.across_shops.filter(number="K-12").count() == 2
