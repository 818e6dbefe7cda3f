"""The page of one unit: how it stands, its drawing, facts, parts, meter, couplings, papers; and its label."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from treadle.fleet.read import read_build_date
from treadle.fleet.records import SIDES
from treadle.fleet.records import Unit as Record
from treadle.reports.plan_view import Drawing, Ends, Manner, Shown, draw
from treadle.reports.qr import qr_picture
from treadle.reports.wording import built_of, capital, day_of, listed
from treadle.web.people.access import allowed
from treadle.web.people.models import Role
from treadle.web.units.distance import pulled_distance
from treadle.web.units.meters import last_shown
from treadle.web.units.models import Axle, Coupling, FittedPart, Unit
from treadle.web.units.outlook import Outlook, outlooks, tags_confirmed
from treadle.web.units.panels import actions_for, panels_for
from treadle.web.units.specs import summary_of
from treadle.web.units.to_core import record_from, units_as_file
from treadle.web.units.views.shared import CHANGE, KEEP, SEE, address, language_of, unit_named
from treadle.words import say, term

_SHOWN_OF_HISTORY = 60
_AT_A_GLANCE = ("chamber", "adjuster", "drum", "rotor")
"""What is said of each wheel end on the unit's page; the rest stands on its own."""


@allowed(*SEE)
def unit_page(request: HttpRequest, number: str) -> HttpResponse:
    """Show a unit."""
    unit, language = unit_named(number), language_of(request)
    axles = list(Axle.objects.filter(unit=unit))
    outlook = outlooks([unit.pk], language)[unit.pk]
    person = request.user
    return render(
        request,
        "units/unit.html",
        {
            "unit": unit,
            "outlook": outlook,
            "plan": drawing_of(unit, axles, outlook, language),
            "stated": _facts(unit, language),
            "tags_confirmed": tags_confirmed(unit.pk) if unit.layout else None,
            "ends": _ends(unit, axles, outlook, language),
            "meter": last_shown(unit),
            "pulled": _pulled(unit, request.shop.measure),  # type: ignore[attr-defined]
            "couplings": _couplings(unit),
            "couple_url": _couple_url(unit, person),
            "history": _history(unit, language),
            "documents": unit.documents.select_related("entered_by").order_by("-entered_at"),
            "panels": panels_for(request, unit),
            "actions": actions_for(request, unit),
            "may_change": person.may(*CHANGE),  # type: ignore[union-attr]
            "may_keep": person.may(*KEEP),  # type: ignore[union-attr]
        },
    )


@allowed(*SEE)
def label(request: HttpRequest, number: str) -> HttpResponse:
    """Show the label for a unit's door, to print: a code that any phone's camera opens."""
    unit = unit_named(number)
    there = request.build_absolute_uri(address("unit", unit))
    return render(request, "units/label.html", {"unit": unit, "code": qr_picture(there), "there": there})


def drawing_of(
    unit: Unit, axles: Sequence[Axle], outlook: Outlook, language: str, *, here: tuple[int, str] | None = None
) -> Drawing:
    """Draw a unit from its record, every wheel end a way in."""
    links = {(axle.number, side): address("end", unit, axle.number, side) for axle in axles for side in SIDES}
    manner = Manner(
        links=links,
        here=here,
        single=frozenset(axle.number for axle in axles if not axle.dual),
        spread=unit.layout == "trailer_spread_drum",
    )
    record = record_from(units_as_file([unit])[0])
    ends = outlook.ends if outlook.judged_on is not None else _nobody_looked(record)
    return draw(record, ends, outcome=outlook.outcome, joints=outlook.joints, language=language, manner=manner)


def _nobody_looked(record: Record) -> Ends:
    """Return every wheel end that has a brake as unseen, for a unit that was never judged."""
    return {
        (axle.number, side): Shown("unseen" if axle.end(side).brake != "none" else None)
        for axle in record.axles
        for side in SIDES
    }


def _facts(unit: Unit, language: str) -> list[tuple[str, str]]:
    built = built_of(read_build_date(unit.built, where=unit.number), language)
    stated = (
        ("built", built),
        ("runs_in", listed([term(place, language) for place in unit.runs_in], language)),
        ("suspension", say(f"units.suspension.{unit.suspension}", language)),
        ("owner", unit.owner),
        ("maintainer", unit.maintainer),
        ("vin", unit.vin),
        ("note", unit.note),
    )
    return [(say(f"units.field.{name}", language), value) for name, value in stated if value]


def _ends(unit: Unit, axles: Sequence[Axle], outlook: Outlook, language: str) -> list[dict[str, Any]]:
    """Return every wheel end with what is fitted there, in the order of the drawing."""
    fitted: dict[tuple[int, str], dict[str, FittedPart]] = {}
    for part in FittedPart.objects.filter(unit=unit, removed_at=None):
        fitted.setdefault((part.axle, part.side), {})[part.slot] = part
    return [
        {
            "name": end_name(axle.number, side, language),
            "role": term(axle.role, language),
            "rating": axle.gawr,
            "url": address("end", unit, axle.number, side),
            "outcome": outlook.ends[axle.number, side].outcome if (axle.number, side) in outlook.ends else "unseen",
            "parts": [
                {
                    "slot": say(f"units.slot.{slot}", language),
                    "said": summary_of(slot, here[slot].spec, language) or say("units.not_known", language),
                }
                for slot in _AT_A_GLANCE
                if slot in here
            ],
        }
        for axle in axles
        for side in SIDES
        for here in [fitted.get((axle.number, side), {})]
    ]


def end_name(axle: int, side: str, language: str) -> str:
    """Return the name of a wheel end as a heading has it: "Axle 2, left"."""
    return say("units.end", language, axle=axle, side=side)


def _pulled(unit: Unit, measure: str) -> dict[str, Any] | None:
    """Return how far a unit without a meter was pulled since it was registered; None for one that is not pulled."""
    if unit.kind not in (Unit.Kind.TRAILER, Unit.Kind.DOLLY):
        return None
    distance = pulled_distance(
        unit, since=unit.entered_at, until=timezone.now(), measure="km" if measure == "mm" else "mi"
    )
    return (
        None
        if distance is None
        else {"quantity": distance.quantity, "whole": distance.is_whole, "since": unit.entered_at}
    )


def _couplings(unit: Unit) -> dict[str, list[Coupling]]:
    rows = Coupling.objects.filter(Q(towing=unit) | Q(towed=unit)).select_related("towing", "towed")
    ordered = list(rows.order_by("-coupled_at")[:_SHOWN_OF_HISTORY])
    return {
        "now": [row for row in ordered if row.uncoupled_at is None],
        "past": [row for row in ordered if row.uncoupled_at is not None],
    }


def _couple_url(unit: Unit, person: Any) -> str | None:
    """Return where coupling is done, for those who do it; None where this site has no such page."""
    if not person.may(Role.LEAD, Role.DISPATCHER, Role.TECHNICIAN, Role.DRIVER) or unit.left_fleet_on is not None:
        return None
    try:
        return f"{reverse('dispatch:couple')}?unit={unit.number}"
    except NoReverseMatch:
        return None


def _history(unit: Unit, language: str) -> list[dict[str, Any]]:
    """Return the parts that are no longer fitted, the latest first."""
    rows = FittedPart.objects.filter(unit=unit).exclude(removed_at=None).order_by("-removed_at")
    return [
        {
            "where": end_name(part.axle, part.side, language),
            "slot": say(f"units.slot.{part.slot}", language),
            "said": summary_of(part.slot, part.spec, language),
            "lot": part.lot,
            "from": day_of(timezone.localtime(part.fitted_at).date(), language),
            "from_meter": part.fitted_meter,
            "until": day_of(timezone.localtime(part.removed_at).date(), language),
            "until_meter": part.removed_meter,
            "why": capital(part.removed_why),
            "job": part.removed_in,
        }
        for part in rows[:_SHOWN_OF_HISTORY]
    ]
