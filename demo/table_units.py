"""The simulated units as rows: units, axles, fitted parts, meters, couplings, each with its stamp and its history."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Model

from demo.people import DISPATCHER, LEAD
from demo.records import Coupling, History, MeterSegment, Part
from treadle.web.people.models import Person, Shop
from treadle.web.units import models as rows

BATCH = 2000


@dataclass(frozen=True, slots=True)
class Books:
    """What every row needs: the shop, its people by name, and the units by number."""

    shop: Shop
    people: dict[str, Person]
    units: dict[str, rows.Unit]

    def person(self, name: str) -> Person:
        """Return a person; who is none of the shop's is entered by its lead."""
        return self.people.get(name) or self.people[LEAD]

    def stamp(self, by: str, at: datetime) -> dict[str, Any]:
        """Return who entered a row and when, in the shop in which it lies."""
        return {
            "shop_id": self.shop.pk,
            "entered_by_id": self.person(by).pk,
            "entered_at": at,
            "entered_zone": self.shop.zone,
        }


def insert(found: Sequence[Model]) -> None:
    """Insert rows of one table."""
    if found:
        type(found[0]).across_shops.bulk_create(found, batch_size=BATCH)  # type: ignore[attr-defined]


def insert_with_history(found: Sequence[Any], dated: Iterable[tuple[Any, datetime, UUID]] | None = None) -> None:
    """Insert rows, and their first entry in the history.

    `dated` gives the rows as they were first written where they have changed since, with when and by whom.
    """
    if not found:
        return
    insert(found)
    first = dated if dated is not None else ((row, row.entered_at, row.entered_by_id) for row in found)
    note_history(type(found[0]), first)


def note_history(table: Any, dated: Iterable[tuple[Any, datetime, UUID]], *, changed: bool = False) -> None:
    """Note rows in the history of their table, as first written or as changed, with when and by whom."""
    history = table.history.model
    names = [field.attname for field in history.tracked_fields]
    entries = [
        history(
            history_date=at,
            history_user_id=by,
            history_type="~" if changed else "+",
            **{name: getattr(row, name) for name in names},
        )
        for row, at, by in dated
    ]
    history.objects.bulk_create(entries, batch_size=BATCH)


def enter_units(books: Books, history: History) -> None:
    """Enter the units with their axles, and put them among the books."""
    began = history.began_at
    units, axles = [], []
    for plan in history.units:
        unit = rows.Unit(
            number=plan.number,
            kind=plan.kind,
            built=plan.built,
            runs_in=list(plan.runs_in),
            layout=plan.layout,
            suspension=plan.suspension,
            owner=plan.owner,
            maintainer=plan.maintainer,
            note=plan.note,
            **books.stamp(LEAD, began),
        )
        units.append(unit)
        books.units[plan.number] = unit
        for number, axle in enumerate(plan.axles, start=1):
            axles.append(
                rows.Axle(
                    shop_id=books.shop.pk,
                    unit=unit,
                    number=number,
                    role=axle.role,
                    dual=axle.dual,
                    gawr=axle.gawr,
                    can_lift=axle.can_lift,
                )
            )
    insert_with_history(units)
    insert_with_history(axles, ((axle, began, books.person(LEAD).pk) for axle in axles))


def enter_parts(books: Books, history: History, *, changes: bool = True) -> None:
    """Enter every part there was; with the history of the rows' changes, fitted and taken off, where it is wanted."""
    if not changes:
        insert([_part(books, part, history.began_at) for part in history.parts])
        return
    fitted, first, taken_off = [], [], []
    for part in history.parts:
        row = _part(books, part, history.began_at)
        by = row.entered_by_id
        fitted.append(row)
        if part.removed_at is None:
            first.append((row, row.entered_at, by))
        else:
            first.append((_part(books, part, history.began_at, as_fitted=True, pk=row.pk), row.entered_at, by))
            taken_off.append((row, part.removed_at, by))
    insert_with_history(fitted, first)
    note_history(rows.FittedPart, taken_off, changed=True)


def _part(
    books: Books, part: Part, began: datetime, *, as_fitted: bool = False, pk: UUID | None = None
) -> rows.FittedPart:
    """Return a part as a row; `as_fitted` leaves out that it was taken off."""
    row = rows.FittedPart(
        unit_id=books.units[part.unit].pk,
        axle=part.axle,
        side=part.side,
        slot=part.slot,
        spec=part.spec,
        lot=part.lot,
        fitted_at=part.fitted_at,
        fitted_meter=part.fitted_meter,
        fitted_in=part.fitted_in,
        **books.stamp(LEAD, max(part.fitted_at, began)),
    )
    if pk is not None:
        row.pk = pk
    if not as_fitted:
        row.removed_at, row.removed_meter = part.removed_at, part.removed_meter
        row.removed_in, row.removed_why = part.removed_in, part.removed_why
    return row


def enter_meters(books: Books, segments: Iterable[MeterSegment]) -> None:
    """Enter the meters and what they showed."""
    runs, readings = [], []
    for segment in segments:
        run = rows.MeterSegment(
            unit=books.units[segment.unit],
            kind=segment.kind,
            measure=segment.measure,
            began_at=segment.began_at,
            began_reading=segment.began_reading,
            ended_at=segment.ended_at,
            ended_reading=segment.ended_reading,
            ended_why=segment.ended_why,
            **books.stamp(LEAD, segment.began_at),
        )
        runs.append(run)
        readings += [
            rows.MeterReading(segment_id=run.pk, at=shown.at, reading=shown.reading, **books.stamp(shown.by, shown.at))
            for shown in segment.readings
        ]
    insert(runs)
    insert(readings)


def enter_couplings(books: Books, couplings: Iterable[Coupling]) -> None:
    """Enter which unit pulled which."""
    insert(
        [
            rows.Coupling(
                towing_id=books.units[one.towing].pk,
                towed_id=books.units[one.towed].pk,
                coupled_at=one.coupled_at,
                uncoupled_at=one.uncoupled_at,
                uncoupled_by_id=None if one.uncoupled_at is None else books.person(DISPATCHER).pk,
                **books.stamp(one.by, one.coupled_at),
            )
            for one in couplings
        ]
    )
