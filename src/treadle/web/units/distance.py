"""How far a unit has gone, by its own meter or by what pulled it: rows of meters and couplings for the core to join."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from treadle.fleet.records import POWER_UNITS
from treadle.measure import Quantity, read_quantity
from treadle.wear import Coupling as Pulled
from treadle.wear import Distance, Meter, Segment, distance_pulled
from treadle.wear import MeterReading as Shown
from treadle.web.units.models import Coupling, MeterReading, MeterSegment, Unit


def meters_of(units: Iterable[UUID]) -> dict[UUID, Meter]:
    """Return the meters of some units, with every reading that is not in doubt."""
    readings: dict[UUID, list[Shown]] = defaultdict(list)
    segments: dict[UUID, list[Segment]] = defaultdict(list)
    ids = list(units)
    for row in MeterReading.objects.filter(segment__unit__in=ids, doubt="").select_related("segment"):
        readings[row.segment.unit_id].append(Shown(row.at, _read(row.reading)))
    for row in MeterSegment.objects.filter(unit__in=ids):
        ended = _read(row.ended_reading) if row.ended_reading else None
        why = row.ended_why or None
        segments[row.unit_id].append(Segment(row.began_at, _read(row.began_reading), row.ended_at, ended, why))
    return {unit: Meter(tuple(found), tuple(readings[unit])) for unit, found in segments.items()}


def pulled_distance(unit: Unit, *, since: datetime, until: datetime, measure: str) -> Distance | None:
    """Return how far a unit without a meter was pulled, by the meters of what pulled it; None if nothing ever did.

    Behind a dolly or another trailer it went as far as the power unit at the front of the line did.

    Parameters
    ----------
    unit : Unit
        A trailer or dolly.
    since, until : datetime
        From when and to when.
    measure : str
        Unit of the answer. [mi or km]
    """
    spans = _pulled_by_power(unit, since, until)
    if not spans:
        return None
    powers = {power.pk: power.number for power, _, _ in spans}
    meters = {powers[pk]: meter for pk, meter in meters_of(powers).items()}
    couplings = [Pulled(power.number, begin, end) for power, begin, end in spans]
    return distance_pulled(couplings, meters, since, until, unit=measure, where=unit.number)


def _pulled_by_power(unit: Unit, since: datetime, until: datetime) -> list[tuple[Unit, datetime, datetime]]:
    """Return which power unit was at the front, from when to when, following each line of couplings to its front."""
    found = []
    for row in Coupling.objects.filter(towed=unit, coupled_at__lt=until).select_related("towing"):
        begin, end = max(since, row.coupled_at), min(until, row.uncoupled_at or until)
        if begin >= end:
            continue
        if row.towing.kind in POWER_UNITS:
            found.append((row.towing, begin, end))
        else:
            found += _pulled_by_power(row.towing, begin, end)
    return found


def _read(text: str) -> Quantity:
    return read_quantity(text, "length", where="meter")
