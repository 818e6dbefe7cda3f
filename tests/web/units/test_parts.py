"""Parts as intervals: fitted, corrected, copied; two people at once; and never a vehicle that cannot be judged."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from treadle.errors import BadInput
from treadle.web.units.amend import ChangedMeanwhile, copy_parts, correct_part, fit_another, version_of
from treadle.web.units.fit import checked_spec, fit, remove
from treadle.web.units.models import FittedPart
from treadle.web.units.to_core import record_of_unit, units_as_file

LATER = datetime(2026, 5, 4, 15, 0, tzinfo=UTC)
LONG = {"design": "clamp", "type": "30", "stroke_class": "long", "rated_stroke": "3 in"}


def slugs(refused):
    return [problem.slug for problem in refused.value.problems]


def test_a_part_fitted_later_ends_the_one_before_at_that_moment(make, lead, fitted):
    unit = make()
    old = fitted(unit, 2, "left", "chamber")
    new = fit_another(
        unit, axle=2, side="left", slot="chamber", spec=LONG, at=LATER, by=lead, lot="C-1", meter="9 mi", why="leak"
    )
    old.refresh_from_db()
    assert (old.removed_at, old.removed_meter, old.removed_why) == (LATER, "9 mi", "leak")
    assert (new.fitted_at, new.lot, new.removed_at) == (LATER, "C-1", None)


def test_what_was_fitted_on_a_day_can_be_told(make, lead):
    unit = make()
    fit_another(unit, axle=2, side="left", slot="chamber", spec=LONG, at=LATER, by=lead)
    before, after = (
        units_as_file([unit], LATER + timedelta(hours=hours))[0]["axles"][1]["left"].get("chamber", {})
        for hours in (-1, 1)
    )
    assert (before.get("stroke_class"), after.get("stroke_class")) == (None, "long")


def test_a_part_cannot_come_off_before_it_was_fitted(make, lead):
    unit = make()
    with pytest.raises(BadInput) as refused:
        fit(unit, axle=2, side="left", slot="drum", spec={}, at=datetime(2020, 1, 1, tzinfo=UTC), by=lead)
    assert slugs(refused) == ["removed_before_fitted"]
    assert FittedPart.objects.filter(unit=unit, axle=2, side="left", slot="drum").count() == 1


def test_taking_off_what_is_not_there_is_nothing(make):
    assert remove(make(), axle=1, side="left", slot="hardware", at=LATER) is None


def test_a_correction_keeps_the_part_and_what_stood_there_before(make, fitted):
    unit = make()
    part = fitted(unit, 2, "left", "chamber")
    correct_part(part, LONG, lot="C-7", version=version_of(part))
    now = fitted(unit, 2, "left", "chamber")
    assert (now.pk, now.fitted_at, now.lot) == (part.pk, part.fitted_at, "C-7")
    assert [row.spec["stroke_class"] for row in part.history.order_by("history_date")] == ["standard", "long"]


def test_two_people_correcting_one_part_do_not_overwrite_each_other(make, fitted):
    unit = make()
    part = fitted(unit, 2, "left", "chamber")
    shown = version_of(part)
    correct_part(part, LONG, lot="first", version=shown)
    with pytest.raises(ChangedMeanwhile) as refused:
        correct_part(part, LONG, lot="second", version=shown)
    assert slugs(refused) == ["changed_meanwhile"]
    assert fitted(unit, 2, "left", "chamber").lot == "first"


def test_a_part_that_came_off_meanwhile_is_not_corrected(make, lead, fitted):
    unit = make()
    part = fitted(unit, 2, "left", "drum")
    fit_another(unit, axle=2, side="left", slot="drum", spec={"nominal": "16.5 in"}, at=LATER, by=lead)
    with pytest.raises(ChangedMeanwhile) as refused:
        correct_part(part, {}, lot="", version=version_of(part))
    assert slugs(refused) == ["part_removed_meanwhile"]


def test_a_correction_that_leaves_no_whole_vehicle_is_refused_and_undone(make, fitted):
    unit = make()
    part = fitted(unit, 1, "left", "foundation")
    remove(unit, axle=1, side="left", slot="chamber", at=LATER)
    with pytest.raises(BadInput) as refused:
        correct_part(part, {"brake": "air_disc"}, lot="", version=version_of(part))
    assert slugs(refused) == ["missing_field"]
    assert fitted(unit, 1, "left", "foundation").spec["brake"] == "air_drum"


def test_parts_are_copied_to_other_ends_without_their_lot(make, lead, fitted):
    unit = make()
    part = fitted(unit, 2, "left", "chamber")
    correct_part(part, LONG, lot="C-7", version=version_of(part))
    copy_parts(unit, source=(2, "left"), slots=["chamber"], ends=[(2, "right"), (3, "left"), (3, "right")], by=lead)
    record = record_of_unit(unit)
    classes = [axle.end(side).chamber.stroke_class for axle in record.axles for side in ("left", "right")]
    assert classes == ["standard", "standard", "long", "long", "long", "long"]
    assert fitted(unit, 3, "right", "chamber").lot == ""


def test_a_part_missing_at_the_other_end_is_put_on_record_there(make, lead, fitted):
    unit = make()
    fit(unit, axle=1, side="left", slot="hardware", spec={"kit": "H-1"}, at=LATER, by=lead)
    copied = copy_parts(unit, source=(1, "left"), slots=["hardware", "drum"], ends=[(1, "right")], by=lead)
    assert [part.slot for part in copied] == ["hardware"]  # the drums were alike already
    assert fitted(unit, 1, "right", "hardware").fitted_at == LATER


@pytest.mark.parametrize(
    ("slot", "spec", "slug"),
    [
        ("chamber", {"design": "clamp", "type": "30L"}, "chamber_size_unusable"),
        ("chamber", {"type": "30"}, "missing_field"),
        ("chamber", {"design": "clamp", "rated_stroke": "3"}, "no_unit"),
        ("foundation", {"abs": True}, "missing_field"),
        ("adjuster", {"release": "hammer"}, "word_not_allowed"),
        ("wheel", {"mounting": "glue"}, "word_not_allowed"),
        ("wheel", {"studs": 200}, "word_not_allowed"),
        ("wheel", {"studs": "10"}, "word_not_allowed"),
        ("drum", {"colour": "red"}, "unknown_field"),
    ],
)
def test_what_a_part_cannot_be_is_refused(slot, spec, slug):
    with pytest.raises(BadInput) as refused:
        checked_spec(slot, spec, where="K-12")
    assert slugs(refused) == [slug]
