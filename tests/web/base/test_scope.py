"""Rows belong to one shop: nobody sees, changes or points at another's, and a record is never changed at all."""

from __future__ import annotations

import pytest
from django.utils import timezone
from web.line import tractor

from treadle.web.base.models import OtherShop, Unalterable
from treadle.web.base.scope import NoShopInScope, shop_in_scope, shop_scope
from treadle.web.units.models import Axle, MeterReading, MeterSegment, Unit


@pytest.fixture
def theirs(other_shop, person):
    """A unit of the other shop."""
    with shop_scope(other_shop.pk):
        return tractor(person("lead", at=other_shop), "Z-9", meter=False)


@pytest.fixture
def ours(shop, person):
    """A unit of the first shop."""
    with shop_scope(shop.pk):
        return tractor(person("lead"), "K-1", meter=False)


def test_without_a_shop_in_scope_no_row_is_given(db):
    with pytest.raises(NoShopInScope):
        Unit.objects.count()


def test_a_scope_ends_with_its_block(shop):
    with shop_scope(shop.pk):
        assert shop_in_scope() == shop.pk
    with pytest.raises(NoShopInScope):
        shop_in_scope()


def test_a_shop_sees_its_own_rows_alone(ours, theirs, shop, other_shop):
    with shop_scope(shop.pk):
        assert list(Unit.objects.all()) == [ours]
    with shop_scope(other_shop.pk):
        assert list(Unit.objects.all()) == [theirs]


def test_a_row_of_another_shop_cannot_be_written(theirs, shop):
    with shop_scope(shop.pk), pytest.raises(OtherShop):
        theirs.save()


def test_a_row_cannot_point_at_another_shops(theirs, shop):
    with shop_scope(shop.pk), pytest.raises(OtherShop):
        Axle(unit=theirs, number=9, role="drive").save()


@pytest.fixture
def reading(ours, shop, person):
    """A meter reading, which is a record."""
    with shop_scope(shop.pk):
        by = person("technician")
        segment = MeterSegment.objects.filter(unit=ours).first() or MeterSegment.objects.create(
            unit=ours,
            kind="odometer",
            measure="mi",
            began_at=timezone.now(),
            began_reading="1 mi",
            entered_by=by,
        )
        return MeterReading.objects.create(segment=segment, at=timezone.now(), reading="5 mi", entered_by=by)


def test_a_record_is_neither_changed_nor_deleted(reading, shop):
    with shop_scope(shop.pk):
        reading.reading = "6 mi"
        for act in (reading.save, reading.delete, MeterReading.objects.all().delete):
            with pytest.raises(Unalterable):
                act()
        with pytest.raises(Unalterable):
            MeterReading.objects.update(reading="6 mi")
        with pytest.raises(Unalterable):
            MeterReading.across_shops.update(reading="6 mi")
        assert MeterReading.objects.get().reading == "5 mi"
