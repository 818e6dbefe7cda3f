"""Meters: noting what one shows, stopping, replacing and restarting it; distance itself is worked out by the core."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from zoneinfo import ZoneInfo

from django.db import transaction

from treadle.errors import BadInput, Problem
from treadle.measure import Quantity, read_distance
from treadle.web.people.models import Person
from treadle.web.units.models import MeterReading, MeterSegment, Unit

DOUBTFUL_MILES_A_DAY = 1000
"""More than this since the last reading is asked about (chosen: two drivers in one cab stay below it)."""


@dataclass(frozen=True, slots=True)
class LastShown:
    """What a unit's running meter showed last."""

    segment: MeterSegment
    reading: Quantity
    at: datetime

    @property
    def text(self) -> str:
        """As it was read, with its unit."""
        return str(self.reading)


def running_meter(unit: Unit) -> MeterSegment | None:
    """Return the unit's running meter; None for a unit without one."""
    return MeterSegment.objects.filter(unit=unit, ended_at=None).first()  # type: ignore[no-any-return]


def last_shown(unit: Unit) -> LastShown | None:
    """Return the last reading of the running meter."""
    segment = running_meter(unit)
    if segment is None:
        return None
    row = MeterReading.objects.filter(segment=segment, doubt="").order_by("-at").first()
    if row is None:
        return LastShown(segment, _read(segment.began_reading, segment), segment.began_at)
    return LastShown(segment, _read(row.reading, segment), row.at)


@transaction.atomic
def note_meter(unit: Unit, text: str, *, at: datetime, by: Person, sent_by: Person | None = None) -> MeterReading:
    """Note what a unit's meter showed.

    Parameters
    ----------
    unit : Unit
        The unit; it has a running meter.
    text : str
        As typed; a bare number is in the meter's own measure.
    at : datetime
        When it was read.
    by : Person
        Who read it.
    sent_by : Person, optional
        Who sent it, where that was somebody else.

    Raises
    ------
    BadInput
        There is no running meter, it cannot be read, it was not there then, or it shows less than before or more than
        on a later day.
    """
    segment = running_meter(unit)
    if segment is None:
        raise BadInput(Problem("no_meter", unit.number))
    size = _read(text, segment)
    if at < segment.began_at:
        details = {"given": str(size), "moment": _day(at, segment)}
        raise BadInput(Problem("no_meter_then", unit.number, details))
    before = MeterReading.objects.filter(segment=segment, at__lte=at, doubt="").order_by("-at").first()
    last, since = (segment.began_reading, segment.began_at) if before is None else (before.reading, before.at)
    last_size = _read(last, segment)
    if size.in_unit(segment.measure) < last_size.in_unit(segment.measure):
        raise BadInput(Problem("meter_went_back", unit.number, {"given": str(size), "last": str(last_size)}))
    after = MeterReading.objects.filter(segment=segment, at__gt=at, doubt="").order_by("at").first()
    if after is not None and size.in_unit(segment.measure) > _read(after.reading, segment).in_unit(segment.measure):
        details = {"given": str(size), "later": after.reading, "day": _day(after.at, segment)}
        raise BadInput(Problem("meter_past_later", unit.number, details))
    doubt = "meter_jumped" if _too_far(size, last_size, at, since) else ""
    row = MeterReading(
        segment=segment,
        at=at,
        reading=str(size),
        doubt=doubt,
        entered_by=by,
        entered_zone=by.shop.zone,
        sent_by=sent_by,
    )
    row.save()
    return row


@transaction.atomic
def replace_meter(
    unit: Unit,
    *,
    kind: str,
    measure: str,
    reading: str,
    at: datetime,
    by: Person,
    last_reading: str = "",
    why: str = MeterSegment.Ended.REPLACED,
) -> MeterSegment:
    """End a unit's running meter, if it has one, and begin another; `last_reading` is what the old one last showed.

    Raises
    ------
    BadInput
        A reading cannot be read, or `end_meter` refuses.
    """
    running = running_meter(unit)
    if running is not None:
        end_meter(running, at=at, last_reading=last_reading, why=why)
    begun = MeterSegment(
        unit=unit,
        kind=kind,
        measure=measure,
        began_at=at,
        began_reading=str(read_distance(reading, where="meter", default_unit=measure)),
        entered_by=by,
        entered_zone=by.shop.zone,
    )
    begun.save()
    return begun


def end_meter(segment: MeterSegment, *, at: datetime, why: str, last_reading: str = "") -> None:
    """End a meter's segment; without a last reading the last one noted stands.

    Raises
    ------
    BadInput
        It was read at a later moment, or its last reading cannot be read or is less than one noted before.
    """
    last = MeterReading.objects.filter(segment=segment, doubt="").order_by("-at").first()
    noted, since = (segment.began_reading, segment.began_at) if last is None else (last.reading, last.at)
    where = segment.unit.number
    if at < since:
        details = {"since": _day(since, segment), "until": _day(at, segment)}
        raise BadInput(Problem("ends_before_it_begins", where, details))
    shown = str(_read(last_reading, segment)) if last_reading else noted
    if _read(shown, segment).in_unit(segment.measure) < _read(noted, segment).in_unit(segment.measure):
        raise BadInput(Problem("meter_went_back", where, {"given": shown, "last": noted}))
    segment.ended_at, segment.ended_reading, segment.ended_why = at, shown, why
    segment.save(update_fields=["ended_at", "ended_reading", "ended_why"])


def _day(at: datetime, segment: MeterSegment) -> str:
    """Return a day as messages write it, by the clock of the place where the meter was entered."""
    return f"{at.astimezone(ZoneInfo(segment.entered_zone)):%Y-%m-%d}"


def _read(text: str, segment: MeterSegment) -> Quantity:
    return read_distance(text, where="meter", default_unit=segment.measure)


def _too_far(now: Quantity, before: Quantity, at: datetime, since: datetime) -> bool:
    days = max(Fraction(int((at - since).total_seconds()), 86_400), Fraction(1))
    return now.in_unit("mi") - before.in_unit("mi") > DOUBTFUL_MILES_A_DAY * days
