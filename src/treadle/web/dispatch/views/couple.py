"""Coupling and uncoupling: what can go behind what, what the whole would be, and what is refused."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from treadle.errors import BadInput
from treadle.fleet.records import POWER_UNITS
from treadle.web.dispatch import board
from treadle.web.dispatch.forms import AllTheSameForm
from treadle.web.dispatch.overview import Line, fleet_lines
from treadle.web.dispatch.views.shared import (
    COUPLES,
    language_of,
    named,
    note,
    person_of,
    unit_in_fleet,
    verdict_shown,
    warn,
)
from treadle.web.people.access import allowed
from treadle.web.people.models import Role
from treadle.web.units.couple import combination_of
from treadle.web.units.models import Coupling, Unit
from treadle.words import explain, term

SHOWN = 30
"""Units to choose from at once; a number typed narrows them."""


@allowed(*COUPLES)
def couple(request: HttpRequest) -> HttpResponse:
    """Choose what to couple, see what the whole would be, and couple it."""
    given = request.POST if request.method == "POST" else request.GET
    if given.get("towing") and given.get("towed"):
        towing, towed = unit_in_fleet(given["towing"]), unit_in_fleet(given["towed"])
        return _try(request, towing, towed) if request.method == "POST" else _whole(request, towing, towed)
    if not given.get("unit"):
        return render(request, "dispatch/which.html", _which(request), status=200 if given is request.GET else 422)
    return _choose(request, unit_in_fleet(given["unit"]))


def _which(request: HttpRequest) -> dict[str, Any]:
    """Return the units to begin with: those at the front of a line."""
    sought = request.GET.get("q", "").strip()[:60]
    lines = [line for line in fleet_lines(request.shop, at=timezone.now()) if _has(line, sought)]  # type: ignore[attr-defined]
    lines.sort(key=lambda line: (line.state == "alone", line.asked))
    rows = [
        {**_shown(line, language_of(request)), "url": f"?{urlencode({'unit': line.units[0].number})}"}
        for line in lines[:SHOWN]
    ]
    return {"rows": rows, "q": sought, "more": len(lines) > SHOWN}


def _choose(request: HttpRequest, unit: Unit) -> HttpResponse:
    """Show what a unit is coupled to, and what could go behind it or ahead of it."""
    sought = request.GET.get("q", "").strip()[:60]
    line = combination_of(unit)
    others = [
        one
        for one in fleet_lines(request.shop, at=timezone.now())  # type: ignore[attr-defined]
        if one.units[0].number != line[0].number and _has(one, sought)
    ]
    behind = [one for one in others if one.units[0].kind not in POWER_UNITS]
    ahead = others if line[0].kind not in POWER_UNITS else []
    language = language_of(request)
    context = {
        "unit": unit,
        "line": line,
        "last": line[-1],
        "joints": _joints(line),
        "q": sought,
        "behind": [
            {**_shown(one, language), "url": _together_url(line[-1].number, one.units[0].number)}
            for one in _best_first(behind)
        ],
        "ahead": [
            {**_shown(one, language), "url": _together_url(one.units[-1].number, line[0].number)}
            for one in _best_first(ahead)
        ],
        "more": max(len(behind), len(ahead)) > SHOWN,
    }
    return render(request, "dispatch/couple.html", context)


def _best_first(lines: Sequence[Line]) -> list[Line]:
    """Return the lines that may go first, then those that are held, by number."""
    return sorted(lines, key=lambda line: (line.outcome in board.NEVER, line.asked))[:SHOWN]


def _has(line: Line, sought: str) -> bool:
    return any(sought.lower() in unit.number.lower() for unit in line.units)


def _shown(line: Line, language: str) -> dict[str, Any]:
    return {
        "numbers": " + ".join(unit.number for unit in line.units),
        "kinds": " + ".join(term(unit.kind, language) for unit in line.units),
        "outcome": line.outcome,
        "behind": line.behind,
    }


def _together_url(towing: str, towed: str) -> str:
    return f"{reverse('dispatch:couple')}?{urlencode({'towing': towing, 'towed': towed})}"


def _joints(line: Sequence[Unit]) -> list[Coupling]:
    rows = Coupling.objects.filter(towed__in=line[1:], uncoupled_at=None).select_related("towing", "towed")
    by_towed = {row.towed_id: row for row in rows}
    return [by_towed[unit.pk] for unit in line[1:]]


# -- one behind another


def _whole(
    request: HttpRequest, towing: Unit, towed: Unit, *, refused: bool = False, form: AllTheSameForm | None = None
) -> HttpResponse:
    """Show what two lines would be together, judged afresh."""
    now, person = timezone.now(), person_of(request)
    line = board.line_of(towing, towed)
    context: dict[str, Any] = {"towing": towing, "towed": towed, "line": line, "refused": refused}
    try:
        verdict = board.verdict_on(line, shop=request.shop, by=person, at=now)  # type: ignore[attr-defined]
    except BadInput as fault:
        context |= {"fault": explain(fault, language_of(request)), **named(line)}
        return render(request, "dispatch/not_whole.html", context, status=422)
    context |= {
        **verdict_shown(verdict, request, at=now),
        **named(line),
        "form": form or AllTheSameForm(language=language_of(request)),
        "is_lead": person.may(Role.LEAD),
    }
    status = 409 if refused else 422 if form is not None else 200
    return render(request, "dispatch/together.html", context, status=status)


def _try(request: HttpRequest, towing: Unit, towed: Unit) -> HttpResponse:
    """Couple them; refused, the refusal is on record and shown."""
    person, form, why = person_of(request), None, ""
    if "why" in request.POST and person.may(Role.LEAD):
        form = AllTheSameForm(request.POST, language=language_of(request))
        if not form.is_valid():
            return _whole(request, towing, towed, form=form)
        why = form.cleaned_data["why"]
    if Coupling.objects.filter(towing=towing, towed=towed, uncoupled_at=None).exists():
        return redirect(f"{reverse('dispatch:couple')}?{urlencode({'unit': towing.number})}")
    try:
        board.couple_checked(towing, towed, shop=request.shop, by=person, at=timezone.now(), all_the_same=why)  # type: ignore[attr-defined]
    except board.DispatchRefused:
        return _whole(request, towing, towed, refused=True)
    except BadInput as fault:
        warn(request, fault)
        return redirect(f"{reverse('dispatch:couple')}?{urlencode({'unit': towing.number})}")
    note(request, "dispatch.couple.done", towing=towing.number, towed=towed.number)
    return redirect(f"{reverse('dispatch:couple')}?{urlencode({'unit': towing.number})}")


@require_POST
@allowed(*COUPLES)
def uncouple(request: HttpRequest) -> HttpResponse:
    """Uncouple a unit from the one ahead of it."""
    if not request.POST.get("towed"):
        return render(request, "dispatch/which.html", _which(request), status=422)
    towed = unit_in_fleet(request.POST["towed"])
    try:
        row = board.uncouple_checked(towed, shop=request.shop, by=person_of(request), at=timezone.now())  # type: ignore[attr-defined]
    except BadInput as fault:
        warn(request, fault)
    else:
        note(request, "dispatch.couple.undone", towing=row.towing.number, towed=towed.number)
    return redirect(f"{reverse('dispatch:couple')}?{urlencode({'unit': towed.number})}")
