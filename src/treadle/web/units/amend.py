"""Changing what is on record of a unit: facts, whether it is in the fleet, parts; each act whole or not at all."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.db import models, transaction

from treadle.errors import BadInput, Problem
from treadle.web.people.models import Person
from treadle.web.units import outlook
from treadle.web.units.fit import correct_spec, fit
from treadle.web.units.models import FittedPart, Unit
from treadle.web.units.register import problems_of_facts
from treadle.web.units.to_core import record_of_unit

FACTS = ("built", "runs_in", "suspension", "owner", "maintainer", "vin", "note")
"""What may be edited of a unit; its number and layout stay."""

End = tuple[int, str]


class ChangedMeanwhile(BadInput):
    """Somebody else saved the same thing after this form was opened; nothing was overwritten."""


def version_of(row: models.Model) -> str:
    """Return what tells this state of a row from any later one: the id of its latest history."""
    latest = row.history.order_by("-history_date", "-history_id").values_list("history_id", flat=True).first()  # type: ignore[attr-defined]
    return "" if latest is None else str(latest)


def _refuse_stale(row: models.Model, version: str) -> None:
    """Refuse to save over what somebody else saved since `version` was shown."""
    if version_of(row) != version:
        last = row.history.select_related("history_user").order_by("-history_date", "-history_id").first()  # type: ignore[attr-defined]
        who = "?" if last is None or last.history_user is None else last.history_user.name
        raise ChangedMeanwhile(Problem("changed_meanwhile", str(row), {"who": who}))


@transaction.atomic
def edit_facts(unit: Unit, facts: Mapping[str, Any], *, version: str, at: datetime, by: Person) -> Unit:
    """Put right the facts of a unit.

    Raises
    ------
    ChangedMeanwhile
        Somebody else saved it since `version` was shown.
    BadInput
        A fact cannot be so; every one that cannot is named.
    """
    row: Unit = Unit.objects.select_for_update().get(pk=unit.pk)
    _refuse_stale(row, version)
    vin = facts["vin"].strip().upper()
    problems = problems_of_facts(
        number=row.number, built=facts["built"], runs_in=facts["runs_in"], vin=vin, at=at, by=by, other_than=row
    )
    if problems:
        raise BadInput(problems)
    for name in FACTS:
        setattr(row, name, facts[name])
    row.vin = vin
    row.save(update_fields=list(FACTS))
    outlook.changed(row)
    return row


@transaction.atomic
def leave_fleet(unit: Unit, *, on: date) -> Unit:
    """Take a unit out of the fleet: it stays on record, and is no longer listed.

    Raises
    ------
    BadInput
        It is coupled.
    """
    row: Unit = Unit.objects.select_for_update().get(pk=unit.pk)
    coupled = models.Q(pulled__uncoupled_at=None, pulled__isnull=False)
    coupled |= models.Q(pulled_by__uncoupled_at=None, pulled_by__isnull=False)
    if Unit.objects.filter(coupled, pk=row.pk).exists():
        raise BadInput(Problem("leaves_coupled", row.number))
    row.left_fleet_on = on
    row.save(update_fields=["left_fleet_on"])
    return row


@transaction.atomic
def come_back(unit: Unit) -> Unit:
    """Take a unit back into the fleet."""
    row: Unit = Unit.objects.select_for_update().get(pk=unit.pk)
    row.left_fleet_on = None
    row.save(update_fields=["left_fleet_on"])
    outlook.changed(row)
    return row


@transaction.atomic
def correct_part(part: FittedPart, spec: Mapping[str, Any], *, lot: str, version: str) -> FittedPart:
    """Put right what was recorded of a part that is fitted.

    Raises
    ------
    ChangedMeanwhile
        Somebody else saved it since `version` was shown, or took the part off.
    BadInput
        The specification cannot be used, or the vehicle would not be whole with it.
    """
    row: FittedPart = FittedPart.objects.select_for_update(of=("self",)).select_related("unit").get(pk=part.pk)
    _refuse_stale(row, version)
    if row.removed_at is not None:
        raise ChangedMeanwhile(Problem("part_removed_meanwhile", str(row)))
    corrected = correct_spec(row, spec, lot=lot)
    _still_whole(row.unit)
    return corrected


@transaction.atomic
def fit_another(
    unit: Unit,
    *,
    axle: int,
    side: str,
    slot: str,
    spec: Mapping[str, Any],
    at: datetime,
    by: Person,
    lot: str = "",
    meter: str = "",
    why: str = "",
) -> FittedPart:
    """Record that a part was fitted outside a job; what was there before ends at that moment.

    Raises
    ------
    BadInput
        As `fit`; or the vehicle would not be whole with it.
    """
    part = fit(unit, axle=axle, side=side, slot=slot, spec=spec, at=at, by=by, lot=lot, meter=meter, why=why)
    _still_whole(unit)
    return part


@transaction.atomic
def copy_parts(unit: Unit, *, source: End, slots: Collection[str], ends: Sequence[End], by: Person) -> list[FittedPart]:
    """Record at other ends the parts that this end has, without their lots: parts may be alike, readings never are.

    Raises
    ------
    BadInput
        The vehicle would not be whole with it.
    """
    fitted = {
        (part.axle, part.side, part.slot): part
        for part in FittedPart.objects.filter(unit=unit, removed_at=None).select_related("unit")
    }
    copied = []
    for axle, side in ends:
        for slot in slots:
            model, there = fitted.get((*source, slot)), fitted.get((axle, side, slot))
            if model is None or (axle, side) == source:
                continue
            if there is None:
                made = fit(unit, axle=axle, side=side, slot=slot, spec=model.spec, at=model.fitted_at, by=by)
                copied.append(made)
            elif there.spec != model.spec:
                copied.append(correct_spec(there, model.spec))
    _still_whole(unit)
    return copied


def _still_whole(unit: Unit) -> None:
    """Refuse what leaves a vehicle that cannot be judged, and have it worked out anew how it stands."""
    record_of_unit(unit)
    outlook.changed(unit)
