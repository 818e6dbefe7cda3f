"""Which unit pulls which, as dated intervals; and the combination a unit stands in."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from treadle.errors import BadInput, Problem
from treadle.fleet.records import POWER_UNITS
from treadle.web.people.models import Person
from treadle.web.units.models import Coupling, Unit


@transaction.atomic
def couple(towing: Unit, towed: Unit, *, at: datetime, by: Person) -> Coupling:
    """Couple a unit behind another.

    Raises
    ------
    BadInput
        A unit cannot pull itself, a power unit is not pulled, one of the two is coupled there already, or the moment
        lies before an earlier coupling of either ended.
    """
    if towing.pk == towed.pk:
        raise BadInput(Problem("couples_itself", towing.number))
    if towed.kind in POWER_UNITS:
        raise BadInput(Problem("power_unit_towed", towed.number))
    if towing.pk in {unit.pk for unit in combination_of(towed)}:
        raise BadInput(Problem("couples_in_a_ring", towed.number, {"towing": towing.number}))
    ahead = Coupling.objects.filter(towed=towed, uncoupled_at=None).select_related("towing").first()
    if ahead is not None:
        raise BadInput(Problem("coupled_already", towed.number, {"to": ahead.towing.number}))
    behind = Coupling.objects.filter(towing=towing, uncoupled_at=None).select_related("towed").first()
    if behind is not None:
        raise BadInput(Problem("pulls_already", towing.number, {"what": behind.towed.number}))
    for earlier in (Coupling.objects.filter(towed=towed), Coupling.objects.filter(towing=towing)):
        if earlier.filter(uncoupled_at__gt=at).exists():
            raise BadInput(Problem("couplings_overlap", towed.number, {"towing": towing.number}))
    row = Coupling(towing=towing, towed=towed, coupled_at=at, entered_by=by, entered_zone=by.shop.zone)
    row.save()
    return row


@transaction.atomic
def uncouple(towed: Unit, *, at: datetime, by: Person) -> Coupling:
    """End the coupling of a unit to the one ahead of it.

    Raises
    ------
    BadInput
        It is not coupled, or the moment lies before it was.
    """
    row = Coupling.objects.filter(towed=towed, uncoupled_at=None).first()
    if row is None:
        raise BadInput(Problem("not_coupled", towed.number))
    if at < row.coupled_at:
        raise BadInput(Problem("uncoupled_before", towed.number))
    row.uncoupled_at, row.uncoupled_by = at, by
    row.save(update_fields=["uncoupled_at", "uncoupled_by"])
    return row  # type: ignore[no-any-return]


def combination_of(unit: Unit) -> list[Unit]:
    """Return the units coupled with one now, from the front; itself alone if it is coupled to none."""
    return combinations_of([unit])[0]


def combinations_of(units: Iterable[Unit]) -> list[list[Unit]]:
    """Return the combination each unit stands in now, each from the front."""
    open_now = list(Coupling.objects.filter(uncoupled_at=None).select_related("towing", "towed"))
    behind = {row.towing_id: row.towed for row in open_now}
    ahead = {row.towed_id: row.towing for row in open_now}
    found = []
    for unit in units:
        first = unit
        while first.pk in ahead:
            first = ahead[first.pk]
        line = [first]
        while line[-1].pk in behind:
            line.append(behind[line[-1].pk])
        found.append(line)
    return found
