"""Registering a unit from a layout: the unit, its axles, what is fitted at every end, its first meter; or nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from simple_history.utils import bulk_create_with_history

from treadle.errors import BadInput, Problem
from treadle.fleet.read import read_build_date
from treadle.measure import read_distance, read_quantity
from treadle.web.people.models import Person
from treadle.web.units.fit import checked_spec
from treadle.web.units.layouts import Layout, layout_of
from treadle.web.units.models import Axle, FittedPart, MeterSegment, Unit
from treadle.web.units.to_core import record_of_unit, words_known

_NUMBER = re.compile(r"[^\W_][\w .-]*")
"""What can be painted on a door and stand in an address: begins with a letter or figure."""
_VIN = re.compile(r"[A-HJ-NPR-Z0-9]{17}")
"""17 letters and figures without I, O and Q: ISO 3779."""

_LONGEST_NUMBER = 40

Place = tuple[int, str, str]
Overrides = Mapping[Place, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class FirstMeter:
    """What a unit's meter shows when it is registered; a bare number is in its `measure`."""

    reading: str
    measure: str = "mi"
    kind: str = MeterSegment.Kind.ODOMETER


@transaction.atomic
def register(
    *,
    number: str,
    layout: str,
    built: str,
    runs_in: Sequence[str],
    by: Person,
    at: datetime,
    suspension: str = Unit.Suspension.UNKNOWN,
    owner: str = "",
    maintainer: str = "",
    vin: str = "",
    note: str = "",
    overrides: Overrides | None = None,
    ratings: Mapping[int, str] | None = None,
    lots: Mapping[Place, str] | None = None,
    meter: FirstMeter | None = None,
) -> Unit:
    """Register a unit with its axles, the parts fitted and, where it has one, its meter.

    Parameters
    ----------
    number : str
        What stands on its door.
    layout : str
        Name of a layout; it gives the kind, the axles and what is fitted.
    built : str
        Year, year and month, or day.
    runs_in : sequence of str
        Jurisdictions whose rules it is held to.
    by : Person
        Who registers it.
    at : datetime
        When; its parts count as fitted from then.
    suspension : str
        ``air``, ``spring`` or ``unknown``.
    owner, maintainer, vin, note : str
        May stay empty.
    overrides : mapping, optional
        Axle, side (``left``, ``right`` or ``both``) and slot to the fields that differ from the layout; an empty value
        takes a field away, a slot the layout lacks is added.
    ratings : mapping, optional
        Axle to its gross axle weight rating. [mass]
    lots : mapping, optional
        Axle, side and slot to the lot of the part there.
    meter : FirstMeter, optional
        What its meter shows.

    Raises
    ------
    BadInput
        All that is wrong with it: a number taken or that cannot stand in an address, a build date that is none or is
        yet to come, a VIN that cannot be one or is on another unit, a jurisdiction without rules, a part that cannot
        be so.
    """
    problems = [
        *_problems_of_number(number.strip()),
        *problems_of_facts(number=number.strip(), built=built, runs_in=runs_in, vin=vin, at=at, by=by),
    ]
    try:
        chosen = layout_of(layout)
    except BadInput as refused:
        raise BadInput([*problems, *refused.problems]) from refused
    specs, wrong_parts = _specs(number, chosen, overrides or {})
    rated, wrong_ratings = _ratings(number, chosen, ratings or {})
    problems += [*wrong_parts, *wrong_ratings, *_problems_of_meter(number, meter)]
    if problems:
        raise BadInput(problems)
    unit = Unit(
        number=number.strip(),
        kind=chosen.kind,
        built=built,
        runs_in=list(runs_in),
        layout=layout,
        suspension=suspension,
        owner=owner.strip(),
        maintainer=maintainer.strip(),
        vin=vin.strip().upper(),
        note=note.strip(),
        **_stamp(by, at),
    )
    unit.save()
    axles = [
        Axle(unit=unit, number=one, role=axle.role, dual=axle.dual, gawr=rated.get(one, ""))
        for one, axle in enumerate(chosen.axles, start=1)
    ]
    parts = [
        FittedPart(
            unit=unit,
            axle=axle,
            side=side,
            slot=slot,
            spec=spec,
            lot=(lots or {}).get((axle, side, slot), ""),
            fitted_at=at,
            fitted_meter="" if meter is None else _shown(meter),
            **_stamp(by, at),
        )
        for (axle, side, slot), spec in specs.items()
    ]
    _save_all(axles, by)
    _save_all(parts, by)
    if meter is not None:
        _begin(unit, meter, at=at, by=by)
    record_of_unit(unit)
    return unit


def problems_of_facts(
    *,
    number: str,
    built: str,
    runs_in: Sequence[str],
    vin: str,
    at: datetime,
    by: Person,
    other_than: Unit | None = None,
) -> list[Problem]:
    """Return what is wrong with the facts of a unit that may be edited later; `other_than` is the unit itself."""
    problems: list[Problem] = []
    try:
        if read_build_date(built, where=f"{number}, built").earliest > at.astimezone(ZoneInfo(by.shop.zone)).date():
            problems.append(Problem("built_in_future", f"{number}, built", {"given": built}))
    except BadInput as refused:
        problems += refused.problems
    held = words_known().jurisdictions
    allowed = ", ".join(sorted(held))
    if not runs_in:
        problems.append(Problem("runs_nowhere", f"{number}, runs_in", {"allowed": allowed}))
    for place in runs_in:
        if place not in held:
            problems.append(Problem("unknown_jurisdiction", f"{number}, runs_in", {"given": place, "allowed": allowed}))
    return [*problems, *_problems_of_vin(number, vin.strip().upper(), other_than)]


def _problems_of_number(number: str) -> Iterator[Problem]:
    if not _NUMBER.fullmatch(number) or len(number) > _LONGEST_NUMBER:
        yield Problem("unit_number_unusable", "number", {"given": number})
    elif Unit.objects.filter(number__iexact=number).exists():
        yield Problem("unit_number_taken", "number", {"given": number})


def _problems_of_vin(number: str, vin: str, other_than: Unit | None) -> Iterator[Problem]:
    if not vin:
        return
    if not _VIN.fullmatch(vin):
        yield Problem("vin_unusable", f"{number}, vin", {"given": vin})
        return
    same = Unit.objects.filter(vin=vin)
    if other_than is not None:
        same = same.exclude(pk=other_than.pk)
    other = same.first()
    if other is not None:
        yield Problem("vin_taken", f"{number}, vin", {"given": vin, "other": other.number})


def _problems_of_meter(number: str, meter: FirstMeter | None) -> Iterator[Problem]:
    if meter is None:
        return
    try:
        _shown(meter, where=f"{number}, meter")
    except BadInput as refused:
        yield from refused.problems


def _specs(number: str, layout: Layout, overrides: Overrides) -> tuple[dict[Place, dict[str, Any]], list[Problem]]:
    """Return what is fitted at each place, layout and overrides together, and what is wrong with it."""
    wanted: dict[Place, dict[str, Any]] = {
        (one, side, slot): dict(spec)
        for one, axle in enumerate(layout.axles, start=1)
        for side in ("left", "right")
        for slot, spec in axle.parts.items()
    }
    problems = []
    for (axle, side, slot), fields in overrides.items():
        if not 1 <= axle <= len(layout.axles):
            details = {"unit": number, "axle": axle, "axles": len(layout.axles)}
            problems.append(Problem("unknown_axle", f"{number}, axle {axle}", details))
            continue
        for one in ("left", "right") if side == "both" else (side,):
            wanted.setdefault((axle, one, slot), {}).update(fields)
    checked = {}
    for (axle, side, slot), spec in wanted.items():
        try:
            checked[axle, side, slot] = checked_spec(slot, spec, where=f"{number}, axle {axle}, {side}")
        except BadInput as refused:
            problems += refused.problems
    return checked, problems


def _ratings(number: str, layout: Layout, ratings: Mapping[int, str]) -> tuple[dict[int, str], list[Problem]]:
    rated, problems = {}, []
    for axle, text in ratings.items():
        if not 1 <= axle <= len(layout.axles):
            details = {"unit": number, "axle": axle, "axles": len(layout.axles)}
            problems.append(Problem("unknown_axle", f"{number}, axle {axle}", details))
            continue
        try:
            rated[axle] = str(read_quantity(text, "mass", where=f"{number}, axle {axle}, gawr"))
        except BadInput as refused:
            problems += refused.problems
    return rated, problems


def _save_all(rows: Sequence[Axle] | Sequence[FittedPart], by: Person) -> None:
    """Insert rows with their history in a few statements; each first takes the shop in scope."""
    for row in rows:
        row.belongs()
    bulk_create_with_history(rows, type(rows[0]), default_user=by)


def _shown(meter: FirstMeter, *, where: str = "meter") -> str:
    return str(read_distance(meter.reading, where=where, default_unit=meter.measure))


def _begin(unit: Unit, meter: FirstMeter, *, at: datetime, by: Person) -> None:
    segment = MeterSegment(
        unit=unit,
        kind=meter.kind,
        measure=meter.measure,
        began_at=at,
        began_reading=_shown(meter),
        **_stamp(by, at),
    )
    segment.save()


def _stamp(by: Person, at: datetime) -> dict[str, Any]:
    return {"entered_by": by, "entered_at": at, "entered_zone": by.shop.zone}
