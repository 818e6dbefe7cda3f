"""The Records: one unit's whole file, and the proof that nothing sealed was changed."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db.models import Q
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.utils import timezone

from treadle.web.base.models import Seal
from treadle.web.base.seal import broken_links
from treadle.web.people.access import allowed
from treadle.web.people.models import Person, Role
from treadle.web.records.timeline import KINDS, file_of, identification, last_periodic, open_matters
from treadle.web.units.models import Unit
from treadle.web.units.views.shared import language_of, unit_named
from treadle.web.walkaround.models import DriverReport, SetAside
from treadle.words import say

READERS = (Role.LEAD, Role.OWNER, Role.INSPECTOR)
_FOUND_AT_ONCE = 40
_YEAR = timedelta(days=365)


@allowed(*READERS)
def records(request: HttpRequest) -> HttpResponse:
    """Show where the records begin: find a unit's file, what waits, who is qualified, and whether the seals hold."""
    sought = request.GET.get("q", "").strip()[:60]
    units = (
        Unit.objects.filter(Q(number__icontains=sought) | Q(vin__icontains=sought)) if sought else Unit.objects.all()
    )
    return render(
        request,
        "records/list.html",
        {
            "q": sought,
            "units": units[:_FOUND_AT_ONCE],
            "more": units.count() > _FOUND_AT_ONCE,
            "reports": DriverReport.objects.filter(nothing_found=False, answers=None).select_related(
                "unit", "entered_by"
            ),
            "set_aside": SetAside.objects.filter(settled_at=None).count(),
            "may_settle": request.user.may(Role.LEAD),  # type: ignore[union-attr]
            "people": _qualified_people(),
            "chain": _chain(),
        },
    )


def _qualified_people() -> list[dict[str, Any]]:
    today = timezone.localdate()
    people = Person.objects.filter(is_active=True).prefetch_related("qualifications")
    return [
        {"name": person.name, "held": held, "over": [one for one in held if one.expires_on and one.expires_on < today]}
        for person in people
        if (held := list(person.qualifications.all()))
    ]


def _chain() -> dict[str, Any]:
    links = list(Seal.objects.all())
    return {"links": len(links), "broken": broken_links(links), "head": links[-1].digest if links else ""}


@allowed(*READERS)
def unit_file(request: HttpRequest, number: str) -> HttpResponse:
    """Show one unit's file, all of it or one kind of entry, from a day on."""
    unit, language = unit_named(number), language_of(request)
    kind = request.GET.get("kind", "")
    since = _day(request.GET.get("since", ""))
    kinds = (kind,) if kind in KINDS else KINDS
    periodic = last_periodic(unit)
    return render(
        request,
        "records/file.html",
        {
            "unit": unit,
            "facts": identification(unit, language),
            "entries": file_of(unit, language, kinds=kinds, since=since),
            "kind": kind,
            "kinds": [(one, say(f"records.kind.{one}", language)) for one in KINDS],
            "since": since,
            "periodic": periodic,
            "periodic_due": None if periodic is None else periodic.on + _YEAR,
            "today": timezone.localdate(),
            "open": open_matters(unit),
        },
    )


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


@allowed(*READERS)
def seals(request: HttpRequest) -> HttpResponse:
    """Give the shop's chain of seals as it is kept, so that anybody can hash it again."""
    links = [
        {"number": one.number, "text": one.text, "previous": one.previous, "digest": one.digest}
        for one in Seal.objects.all()
    ]
    answer = JsonResponse({"treadle": "seals/1", "shop": request.shop.name, "links": links})  # type: ignore[attr-defined]
    answer.headers["Content-Disposition"] = 'attachment; filename="seals.json"'
    return answer
