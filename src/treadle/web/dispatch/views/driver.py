"""The driver's door: one's vehicles, reporting a defect or that none was found, and what came of it."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_POST

from treadle.errors import BadInput
from treadle.fleet.records import SIDES
from treadle.reports.defect_report import ITEMS
from treadle.reports.plan_view import Drawing, Manner, draw
from treadle.reports.wording import capital
from treadle.sources import cite
from treadle.web.dispatch import driver
from treadle.web.dispatch.driver_forms import DefectForm, NothingFoundForm, items_at
from treadle.web.dispatch.forms import new_id
from treadle.web.dispatch.obstacles import re_checks_open
from treadle.web.dispatch.views.shared import language_of, note, person_of, unit_in_fleet
from treadle.web.dispatch.wording import item_said, re_check_said, report_said
from treadle.web.people.access import allowed
from treadle.web.people.models import Role
from treadle.web.units.meters import last_shown
from treadle.web.units.models import Axle, Unit
from treadle.web.units.outlook import outlooks
from treadle.web.units.to_core import record_of_unit
from treadle.words import say, term

A_PAGE, FOUND = 15, 20
"""Reports on a page, and vehicles found at once."""


@require_GET
@allowed(Role.DRIVER)
def door(request: HttpRequest) -> HttpResponse:
    """Show a driver's vehicles, what waits for a review or a re-check, and the reports with their answers."""
    now, language, person = timezone.now(), language_of(request), person_of(request)
    sought = request.GET.get("q", "").strip()[:40]
    mine = driver.vehicles_of(person, at=now)
    units = Unit.objects.filter(left_fleet_on=None, number__icontains=sought)
    found = list(units.order_by("number")[:FOUND]) if sought else []
    known = outlooks([unit.pk for unit in (*mine, *found)], language)
    page = Paginator(driver.reports_by(person), A_PAGE).get_page(request.GET.get("page"))
    context = {
        "q": sought,
        "mine": [_vehicle(unit, known, language) for unit in mine],
        "found": [_vehicle(unit, known, language) for unit in found],
        "to_review": [(one, report_said(one, language)) for one in driver.to_review(mine)],
        "re_checks": [(one, re_check_said(one, language)) for one in re_checks_open(mine)],
        "reports": [(one, report_said(one, language), driver.state_of(one)) for one in page.object_list],
        "page": page,
        "query": f"{urlencode({'q': sought})}&" if sought else "",
    }
    return render(request, "driver/door.html", context)


def _vehicle(unit: Unit, known: Any, language: str) -> dict[str, Any]:
    return {
        "number": unit.number,
        "kind": term(unit.kind, language),
        "outcome": known[unit.pk].outcome,
        "url": reverse("driver:choose", args=[unit.number]),
    }


@require_GET
@allowed(Role.DRIVER)
def choose(request: HttpRequest, number: str) -> HttpResponse:
    """Ask where a defect is: at which wheel, or of what; or take that none was found."""
    unit, language = unit_in_fleet(number), language_of(request)
    return render(request, "driver/choose.html", _choice(unit, language, None))


def _choice(unit: Unit, language: str, form: NothingFoundForm | None) -> dict[str, Any]:
    return {
        "unit": unit,
        "plan": _plan(unit, language),
        "items": [
            (f"{reverse('driver:defect', args=[unit.number])}?item={item}", capital(item_said(item, language)))
            for item in ITEMS
        ],
        "form": form or NothingFoundForm(language=language, initial={"id": new_id()}),
        "shown": last_shown(unit),
        "to_review": [(one, report_said(one, language)) for one in driver.to_review([unit])],
        "law": cite("cfr-49-396", "396.11"),
    }


def _plan(unit: Unit, language: str) -> Drawing | None:
    """Draw the vehicle, every wheel a way to report what is there; None where its record is not whole."""
    try:
        record = record_of_unit(unit)
    except BadInput:
        return None
    there = reverse("driver:defect", args=[unit.number])
    links = {
        (axle.number, side): f"{there}?axle={axle.number}&side={side}"
        for axle in Axle.objects.filter(unit=unit)
        for side in SIDES
    }
    return draw(record, {}, outcome=None, joints={}, language=language, manner=Manner(links=links, bare=True))


@allowed(Role.DRIVER)
def defect(request: HttpRequest, number: str) -> HttpResponse:
    """Take a driver's report of a defect."""
    unit, language = unit_in_fleet(number), language_of(request)
    place = _place(request, unit)
    wheel = place is not None
    item = request.GET.get("item", "")
    initial = {"id": new_id(), "item": item if item in items_at(wheel=wheel) else "service_brakes" if wheel else ""}
    form = DefectForm(request.POST or None, request.FILES or None, language=language, wheel=wheel, initial=initial)
    if request.method == "POST" and form.is_valid():
        sent = _send(request, unit, form, place)
        if sent is not None:
            return sent
    context = {
        "unit": unit,
        "form": form,
        "where": say("units.end", language, axle=place[0], side=place[1]) if place else "",
        "shown": last_shown(unit),
        "law": cite("cfr-49-396", "396.11"),
    }
    return render(request, "driver/defect.html", context, status=422 if form.errors else 200)


def _place(request: HttpRequest, unit: Unit) -> tuple[int, str] | None:
    """Return the wheel end an address names; None where it names none.

    Raises
    ------
    Http404
        The unit has no such wheel end.
    """
    axle, side = request.GET.get("axle", ""), request.GET.get("side", "")
    if not axle and not side:
        return None
    if not axle.isdecimal() or side not in SIDES or not Axle.objects.filter(unit=unit, number=int(axle)).exists():
        raise Http404(axle)
    return int(axle), side


def _send(
    request: HttpRequest, unit: Unit, form: DefectForm | NothingFoundForm, place: tuple[int, str] | None
) -> HttpResponse | None:
    """Take the report and lead to it; None where something typed cannot be so, which then stands on the form."""
    entered = dict(form.cleaned_data)
    report_id, photo = entered.pop("id"), entered.pop("photo", None)
    try:
        row = driver.report(
            report_id,
            unit,
            by=person_of(request),
            at=timezone.now(),
            axle=None if place is None else place[0],
            side="" if place is None else place[1],
            nothing_found=isinstance(form, NothingFoundForm),
            photo=None if photo is None else photo.read(),
            **entered,
        )
    except BadInput as fault:
        form.refuse(fault)
        return None
    note(request, "driver.report.nothing_sent" if row.nothing_found else "driver.report.sent", number=unit.number)
    return redirect("driver:one", pk=row.pk)


@require_POST
@allowed(Role.DRIVER)
def nothing_found(request: HttpRequest, number: str) -> HttpResponse:
    """Take a driver's statement that no defect was found."""
    unit, language = unit_in_fleet(number), language_of(request)
    form = NothingFoundForm(request.POST, language=language)
    if form.is_valid():
        sent = _send(request, unit, form, None)
        if sent is not None:
            return sent
    return render(request, "driver/choose.html", _choice(unit, language, form), status=422)
