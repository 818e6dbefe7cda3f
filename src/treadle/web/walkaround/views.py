"""Screens of the walk itself: the list, beginning, walking, keeping for a caller."""

from __future__ import annotations

import uuid
from typing import Any

from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.db.models import Case, Q, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from treadle.errors import BadInput
from treadle.web.people.access import allowed
from treadle.web.people.models import Person
from treadle.web.units.couple import combination_of
from treadle.web.units.models import Unit
from treadle.web.walkaround import enter
from treadle.web.walkaround.asking import language_of, person_of, shop_of
from treadle.web.walkaround.forms import DRIVERS_OCCASIONS, OCCASIONS, BeginForm
from treadle.web.walkaround.models import SetAside, WalkAround
from treadle.web.walkaround.screen import progress, screen_of, units_to_walk
from treadle.words import explain

READERS = ("owner", "inspector")
PAGE = 25


@require_GET
@allowed(*enter.MAY_WALK_DAILY, *READERS)
def walks(request: HttpRequest) -> HttpResponse:
    """List walk-arounds one may see: those under way with how far they are, one's own first; then the finished ones."""
    seen = WalkAround.objects.filter(seen_by(person_of(request)))
    mine = Case(When(entered_by=person_of(request), then=Value(0)), default=Value(1))
    going = seen.filter(finished_at=None, abandoned_at=None).select_related("entered_by")
    today = timezone.localdate()
    under_way = [
        (one, *progress(one, shop=shop_of(request), on=today), _goes_on_at(one, person_of(request)))
        for one in going.order_by(mine, "-begun_at")[:50]
    ]
    finished = seen.exclude(finished_at=None).select_related("entered_by").prefetch_related("judged")
    page = Paginator(finished.order_by("-finished_at"), PAGE).get_page(request.GET.get("page"))
    found: dict[str, Any] = {
        "under_way": under_way,
        "page": page,
        "finished": [(one, max(one.judged.all(), key=lambda judged: judged.entered_at, default=None)) for one in page],
        "waiting": SetAside.objects.filter(settled_at=None).count() if person_of(request).may("lead") else 0,
        "may_walk": person_of(request).may(*enter.MAY_WALK_DAILY),
        "may_measure": person_of(request).may(*enter.MAY_MEASURE),
    }
    return render(request, "walkaround/list.html", found)


@require_GET
@allowed(*enter.MAY_WALK_DAILY)
def choose(request: HttpRequest) -> HttpResponse:
    """Choose the unit to walk round."""
    asked = request.GET.get("q", "").strip()[:40]
    units = units_to_walk()
    shown = [unit for unit in units if asked.lower() in unit.number.lower()]
    if request.GET.get("unit"):
        return redirect("walkaround:begin", number=request.GET["unit"])
    found = {"units": shown, "asked": asked, "any": bool(units), "may_register": person_of(request).may("lead")}
    return render(request, "walkaround/choose.html", found)


@allowed(*enter.MAY_WALK_DAILY)
def begin(request: HttpRequest, number: str) -> HttpResponse:
    """Say what the walk is for, and begin it."""
    unit = get_object_or_404(Unit.objects.filter(left_fleet_on=None), number=number)
    form = BeginForm(
        request.POST or None,
        line=combination_of(unit),
        unit=unit,
        person=person_of(request),
        language=language_of(request),
        occasions=OCCASIONS if person_of(request).may(*enter.MAY_MEASURE) else DRIVERS_OCCASIONS,
    )
    if request.method == "POST" and form.is_valid():
        taken = _begun(form, unit, request)
        if taken is not None:
            return redirect(_where_to(taken, form))
    return render(request, "walkaround/begin.html", {"form": form, "walked": unit}, status=422 if form.errors else 200)


def _begun(form: BeginForm, unit: Unit, request: HttpRequest) -> uuid.UUID | None:
    """Begin the walk; where a meter went back, ask on the form whether it was replaced."""
    zone = shop_of(request).zone
    data = form.cleaned_data
    try:
        known = WalkAround.objects.filter(pk=data["id"]).first()
        if known is not None:
            return known.pk  # type: ignore[no-any-return]
        return enter.begin(
            data["id"],
            occasion=data["occasion"],
            unit=unit,
            at=timezone.now(),
            zone=zone,
            by=person_of(request),
            alone=data.get("alone") == "alone",
            meters=form.meters,
            replaced=form.replaced,
        ).row.pk
    except BadInput as fault:
        for problem in fault.problems:
            about = f"meter_{problem.where}"
            if problem.slug == "meter_went_back":
                form.replaced_offered.add(problem.where)
            form.add_error(about if about in form.fields else None, explain(BadInput(problem), language_of(request)))
        return None


def _where_to(walk: uuid.UUID, form: BeginForm) -> str:
    caller = form.cleaned_data["caller"]
    return _keeping_for(walk, caller) if caller else reverse("walkaround:walk", args=[walk])


def _keeping_for(walk: uuid.UUID, caller: object) -> str:
    return f"{reverse('walkaround:keep', args=[walk])}?caller={caller}"


def _goes_on_at(walk: WalkAround, person: Person) -> str:
    """Return where a person goes on: as keeper, where the last they sent was read by somebody else."""
    theirs = Q(sent_by=person) | Q(sent_by=None, entered_by=person)
    last = walk.readings.filter(theirs).order_by("-entered_at").first()
    if last is not None and last.sent_by_id is not None and last.entered_by_id != person.pk:
        return _keeping_for(walk.pk, last.entered_by_id)
    url = reverse("walkaround:walk", args=[walk.pk])
    return url if last is None else f"{url}?mine"


@require_GET
@allowed(*enter.MAY_WALK_DAILY)
def walk(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Walk round: one screen for everything, which goes on where it was left."""
    return _screen(request, pk, layout="walk")


@require_GET
@allowed(*enter.MAY_WALK_DAILY)
def keeper(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Keep for somebody under the vehicle: one prompt, one-tap keys, the value large to read back."""
    return _screen(request, pk, layout="keep")


def _screen(request: HttpRequest, pk: uuid.UUID, *, layout: str) -> HttpResponse:
    row = get_object_or_404(WalkAround.objects, pk=pk)
    if row.abandoned_at is not None or row.finished_at is not None:
        return redirect("walkaround:one", pk=pk)
    if row.occasion != "daily" and not person_of(request).may(*enter.MAY_MEASURE):
        raise PermissionDenied
    found: dict[str, Any] = {"walk": row, "layout": layout}
    try:
        found["screen"] = screen_of(
            row,
            shop_of(request),
            person_of(request),
            language=language_of(request),
            now=timezone.now(),
        )
    except BadInput as fault:
        found["fault"] = explain(fault, language_of(request))
        return render(request, "walkaround/not_whole.html", found, status=422)
    return render(request, "walkaround/walk.html", found)


def seen_by(person: Any) -> Q:
    """Return which walk-arounds a person may look at: a driver, the daily ones."""
    return Q() if person.may(*enter.MAY_MEASURE, *READERS) else Q(occasion="daily")
