"""A unit's meter: note what it shows, say that it stopped, was replaced or went on from another figure."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from treadle.errors import BadInput
from treadle.web.people.access import allowed
from treadle.web.units.forms import MEASURES, NewMeterForm, NoteMeterForm, ReplaceMeterForm, StopMeterForm
from treadle.web.units.meters import LastShown, end_meter, last_shown, note_meter, replace_meter
from treadle.web.units.models import MeterReading, MeterSegment, Unit
from treadle.web.units.views.shared import CHANGE, SEE, address, back_to, language_of, note, now_here, unit_named
from treadle.words import say

_SHOWN = 40
_FORMS = {"note": NoteMeterForm, "stop": StopMeterForm, "replace": ReplaceMeterForm, "begin": NewMeterForm}


@allowed(*SEE)
def meter(request: HttpRequest, number: str) -> HttpResponse:
    """Show a unit's meter; those who work on it may also enter what it shows and what became of it."""
    unit = unit_named(number)
    if request.method == "POST":
        return _enter(request, unit)
    return render(request, "units/meter.html", _page(request, unit))


@allowed(*CHANGE)
def _enter(request: HttpRequest, unit: Unit) -> HttpResponse:
    act = request.POST.get("act", "")
    kind_of_form = _FORMS.get(act)
    if kind_of_form is None:
        return redirect(address("meter", unit))
    form = kind_of_form(request.POST, language=language_of(request))
    if not form.is_valid():
        return render(request, "units/meter.html", _page(request, unit, {act: form}))
    try:
        _ACTS[act](request, unit, form.cleaned_data)
    except BadInput as refused:
        form.refuse(refused)
        forms: dict[str, Any] = {act: form}
        went_back = any(problem.slug == "meter_went_back" for problem in refused.problems)
        if act == "note" and went_back:
            forms["replace"] = _offer_to_replace(request, unit, form.cleaned_data)
        return render(request, "units/meter.html", _page(request, unit, forms))
    return redirect(address("meter", unit))


def _page(request: HttpRequest, unit: Unit, forms: dict[str, Any] | None = None) -> dict[str, Any]:
    shown, language = last_shown(unit), language_of(request)
    segments = MeterSegment.objects.filter(unit=unit).order_by("-began_at")
    readings = (
        MeterReading.objects.filter(segment__unit=unit).select_related("entered_by").order_by("-at", "-entered_at")
    )
    given = forms or {}
    acts = ("begin",) if shown is None else ("note", "stop", "replace")
    return {
        **back_to(request, unit),
        "shown": shown,
        "segments": segments,
        "readings": readings[:_SHOWN],
        "forms": {act: given.get(act) or _FORMS[act](language=language, initial=_begun(shown)) for act in acts},
        "open": "replace" if "replace" in given else next(iter(given), ""),
        "went_back": "note" in given and "replace" in given,
        "may_change": request.user.may(*CHANGE),  # type: ignore[union-attr]
    }


def _begun(shown: LastShown | None) -> dict[str, Any]:
    begun = {"at": now_here(), "measure": MEASURES[0], "kind_of_meter": MeterSegment.Kind.ODOMETER}
    if shown is None:
        return begun
    segment = shown.segment
    ended = {"ended_why": MeterSegment.Ended.REPLACED, "last_reading": shown.text}
    return begun | ended | {"measure": segment.measure, "kind_of_meter": segment.kind}


def _offer_to_replace(request: HttpRequest, unit: Unit, given: dict[str, Any]) -> ReplaceMeterForm:
    """Return the form of a replaced meter with both numbers: what the old one showed last, and what was typed."""
    begun = _begun(last_shown(unit)) | {"new_reading": given["reading"], "at": given["at"]}
    return ReplaceMeterForm(language=language_of(request), initial=begun)


# -- what may be entered


def _note(request: HttpRequest, unit: Unit, given: dict[str, Any]) -> None:
    row = note_meter(unit, given["reading"], at=given["at"], by=request.user)  # type: ignore[arg-type]
    if row.doubt:
        messages.warning(request, say("units.meter.doubted", language_of(request), reading=row.reading))
    else:
        note(request, "units.meter.noted", reading=row.reading)


def _stop(request: HttpRequest, unit: Unit, given: dict[str, Any]) -> None:
    shown = last_shown(unit)
    if shown is not None:
        end_meter(shown.segment, at=given["at"], why=MeterSegment.Ended.STOPPED, last_reading=given["last_reading"])
        note(request, "units.meter.stopped", number=unit.number)


def _replace(request: HttpRequest, unit: Unit, given: dict[str, Any]) -> None:
    row = replace_meter(
        unit,
        kind=given["kind_of_meter"],
        measure=given["measure"],
        reading=given["new_reading"],
        at=given["at"],
        by=request.user,  # type: ignore[arg-type]
        last_reading=given.get("last_reading", ""),
        why=given.get("ended_why") or MeterSegment.Ended.REPLACED,
    )
    note(request, "units.meter.begun", reading=row.began_reading)


_ACTS = {"note": _note, "stop": _stop, "replace": _replace, "begin": _replace}
