"""Registering units, editing their facts, and taking them out of the fleet and back."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from treadle.errors import BadInput, Problem
from treadle.reports.plan_view import Manner, draw
from treadle.reports.wording import day_of, listed
from treadle.web.people.access import allowed
from treadle.web.people.models import Person
from treadle.web.units.amend import FACTS, ChangedMeanwhile, come_back, edit_facts, leave_fleet, version_of
from treadle.web.units.forms import MEASURES, EditForm, LeaveForm, RegisterForm
from treadle.web.units.layouts import Layout, layouts
from treadle.web.units.models import Unit
from treadle.web.units.register import FirstMeter, register
from treadle.web.units.to_core import record_from
from treadle.web.units.views.shared import KEEP, address, back_to, language_of, note, unit_named
from treadle.words import say, term


@allowed(*KEEP)
def register_units(request: HttpRequest) -> HttpResponse:
    """Register one unit or several of one layout."""
    language, shop = language_of(request), request.shop  # type: ignore[attr-defined]
    begun = {
        "runs_in": shop.runs_in,
        "suspension": Unit.Suspension.UNKNOWN,
        "measure": MEASURES[0],
        "layout": request.GET.get("layout", ""),
    }
    form = RegisterForm(request.POST or None, language=language, initial=begun)
    if request.method == "POST" and form.is_valid():
        try:
            made = _register_all(form.cleaned_data, by=request.user)  # type: ignore[arg-type]
        except BadInput as refused:
            form.refuse(refused)
        else:
            note(request, "units.register.done", numbers=listed([unit.number for unit in made], language))
            return redirect(address("unit", made[0]) if len(made) == 1 else "units:list")
    return render(request, "units/register.html", {"form": form, "layouts": _offered(form, language)})


@transaction.atomic
def _register_all(given: dict[str, Any], *, by: Person) -> list[Unit]:
    """Register every number typed, or none of them; whatever is wrong with any is named."""
    made: list[Unit] = []
    problems: list[Problem] = []
    at = timezone.now()
    meter = FirstMeter(given["meter"], given["measure"]) if given["meter"] else None
    names = ("layout", "built", "runs_in", "suspension", "owner", "maintainer", "vin", "note")
    for number in given["numbers"]:
        try:
            made.append(register(number=number, by=by, at=at, meter=meter, **{name: given[name] for name in names}))
        except BadInput as refused:
            problems += refused.problems
    if problems:
        raise BadInput(problems)
    return made


def _offered(form: RegisterForm, language: str) -> list[dict[str, Any]]:
    """Return the layouts, each with its drawing."""
    chosen = form["layout"].value()
    return [
        {
            "name": layout.name,
            "title": say(f"units.layout.{layout.name}", language),
            "ends": layout.ends,
            "drawing": _drawing(layout, language),
            "chosen": layout.name == chosen,
        }
        for layout in layouts().values()
    ]


def _drawing(layout: Layout, language: str) -> str:
    """Draw a layout as small as it can be told from the others."""
    axles = [
        {"role": axle.role, "brake": axle.parts["foundation"]["brake"], "chamber": {"design": "clamp"}, "adjuster": {}}
        for axle in layout.axles
    ]
    entry = {"number": "-", "kind": layout.kind, "built": "2000", "runs_in": ["us"], "axles": axles}
    single = frozenset(number for number, axle in enumerate(layout.axles, start=1) if not axle.dual)
    manner = Manner(bare=True, spread=layout.spread, single=single)
    name = layout.name.replace("_", "-")
    return draw(record_from(entry), {}, outcome=None, joints={}, language=language, name=name, manner=manner).svg


@allowed(*KEEP)
def edit(request: HttpRequest, number: str) -> HttpResponse:
    """Edit the facts of a unit."""
    unit, language = unit_named(number), language_of(request)
    begun = {name: getattr(unit, name) for name in FACTS} | {"version": version_of(unit)}
    form = EditForm(request.POST or None, language=language, initial=begun)
    theirs: list[tuple[str, str]] = []
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            edit_facts(unit, given, version=given["version"], at=timezone.now(), by=request.user)  # type: ignore[arg-type]
        except ChangedMeanwhile as stale:
            form, theirs = _again(form, unit, stale, language)
        except BadInput as refused:
            form.refuse(refused)
        else:
            note(request, "units.edit.done", number=unit.number)
            return redirect(address("unit", unit))
    return render(request, "units/edit.html", {**back_to(request, unit), "form": form, "theirs": theirs})


def _again(
    form: EditForm, unit: Unit, stale: ChangedMeanwhile, language: str
) -> tuple[EditForm, list[tuple[str, str]]]:
    """Return the form with what was typed, ready to be saved over what is shown beside it: the other's save."""
    unit.refresh_from_db()
    typed = form.data.copy()  # type: ignore[attr-defined]
    typed["version"] = version_of(unit)
    again = EditForm(typed, language=language)
    again.is_valid()
    again.refuse(stale)
    differing = [name for name in FACTS if form.cleaned_data.get(name) != getattr(unit, name)]
    shown = []
    for name in differing:
        value = getattr(unit, name)
        if name == "runs_in":
            value = listed([term(place, language) for place in value], language)
        elif name == "suspension":
            value = say(f"units.suspension.{value}", language)
        shown.append((say(f"units.field.{name}", language), value or say("units.empty", language)))
    return again, shown


@allowed(*KEEP)
def leave(request: HttpRequest, number: str) -> HttpResponse:
    """Take a unit out of the fleet; it stays on record."""
    unit, language = unit_named(number), language_of(request)
    form = LeaveForm(request.POST or None, language=language, initial={"left_on": timezone.localdate()})
    if request.method == "POST" and form.is_valid():
        try:
            leave_fleet(unit, on=form.cleaned_data["left_on"])
        except BadInput as refused:
            form.refuse(refused)
        else:
            day = day_of(form.cleaned_data["left_on"], language)
            note(request, "units.leave.done", number=unit.number, day=day)
            return redirect(address("unit", unit))
    return render(request, "units/leave.html", {**back_to(request, unit), "form": form})


@require_POST
@allowed(*KEEP)
def back(request: HttpRequest, number: str) -> HttpResponse:
    """Take a unit back into the fleet."""
    unit = come_back(unit_named(number))
    note(request, "units.leave.back", number=unit.number)
    return redirect(address("unit", unit))
