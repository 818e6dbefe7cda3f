"""The page of one wheel end: each fitted part, to correct, to replace by another, or to record at other ends too."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from treadle.errors import BadInput
from treadle.fleet.records import SIDES
from treadle.reports.wording import listed
from treadle.web.people.access import allowed
from treadle.web.units.amend import ChangedMeanwhile, End, copy_parts, correct_part, fit_another, version_of
from treadle.web.units.forms import AnotherForm, CopyForm, CorrectForm, PartForm, measure_for
from treadle.web.units.meters import last_shown
from treadle.web.units.models import Axle, FittedPart, Unit
from treadle.web.units.outlook import outlooks
from treadle.web.units.specs import FIELDS, lines_of, slots_of, summary_of
from treadle.web.units.views.page import drawing_of, end_name
from treadle.web.units.views.shared import CHANGE, SEE, address, language_of, note, now_here, unit_named
from treadle.words import say, term


@allowed(*SEE)
def end(request: HttpRequest, number: str, axle: int, side: str) -> HttpResponse:
    """Show what is fitted at a wheel end."""
    unit, axles = _place(number, axle, side)
    return render(request, "units/end.html", _page(request, unit, axles, (axle, side)))


def _place(number: str, axle: int, side: str) -> tuple[Unit, list[Axle]]:
    """Return the unit and its axles; a wheel end it does not have is not there."""
    unit = unit_named(number)
    axles = list(Axle.objects.filter(unit=unit))
    if side not in SIDES or axle not in {one.number for one in axles}:
        raise Http404(number)
    return unit, axles


def _page(
    request: HttpRequest, unit: Unit, axles: Sequence[Axle], place: End, *, copying: CopyForm | None = None
) -> dict[str, Any]:
    axle, side = place
    language = language_of(request)
    rows = FittedPart.objects.filter(unit=unit, axle=axle, side=side).order_by("-fitted_at")
    fitted = {part.slot: part for part in rows if part.removed_at is None}
    outlook = outlooks([unit.pk], language)[unit.pk]
    may_change = request.user.may(*CHANGE)  # type: ignore[union-attr]
    shown = outlook.ends.get((axle, side))
    return {
        **_head(unit, axles, axle, side, language),
        "plan": drawing_of(unit, axles, outlook, language, here=(axle, side)),
        "outcome": "unseen" if shown is None else shown.outcome,
        "slots": [_slot(unit, place, slot, fitted.get(slot), language) for slot in _slots(fitted)],
        "removed": [_removed(part, language) for part in rows if part.removed_at is not None],
        "may_change": may_change,
        "copying": copying or _copy_form(None, axles, place, fitted, language),
        "copy_url": address("copy", unit, axle, side),
    }


def _head(unit: Unit, axles: Sequence[Axle], axle: int, side: str, language: str) -> dict[str, Any]:
    role = next(one.role for one in axles if one.number == axle)
    return {
        "unit": unit,
        "axle": axle,
        "side": side,
        "name": end_name(axle, side, language),
        "role": term(role, language),
        "back_url": address("unit", unit),
        "end_url": address("end", unit, axle, side),
    }


def _slots(fitted: dict[str, FittedPart]) -> list[str]:
    """Return the slots this end has by its brake, and any other in which something is on record all the same."""
    brake = fitted["foundation"].spec.get("brake", "none") if "foundation" in fitted else "none"
    of_the_brake = slots_of(brake)
    return [slot for slot in FIELDS if slot in of_the_brake or slot in fitted]


def _slot(unit: Unit, place: End, slot: str, part: FittedPart | None, language: str) -> dict[str, Any]:
    return {
        "title": say(f"units.slot.{slot}", language),
        "part": part,
        "lines": [] if part is None else lines_of(slot, part.spec, language),
        "correct_url": address("correct", unit, *place, slot),
        "another_url": address("another", unit, *place, slot),
    }


def _removed(part: FittedPart, language: str) -> dict[str, Any]:
    return {
        "part": part,
        "slot": say(f"units.slot.{part.slot}", language),
        "said": summary_of(part.slot, part.spec, language),
    }


# -- one part


@allowed(*CHANGE)
def correct(request: HttpRequest, number: str, axle: int, side: str, slot: str) -> HttpResponse:
    """Correct what is on record of a part; where nothing is, say what is there."""
    unit, axles = _place(number, axle, side)
    language, part = language_of(request), _part(unit, axle, side, slot)
    if part is None:
        return redirect(address("another", unit, axle, side, slot))
    begun = PartForm.initial_of(slot, part.spec, part.lot) | {"version": version_of(part)}
    form = CorrectForm(request.POST or None, initial=begun, **_of_the_part(request, slot))
    theirs: list[tuple[str, str]] = []
    if request.method == "POST" and form.is_valid():
        try:
            given = form.cleaned_data
            correct_part(part, form.spec, lot=given["lot"], version=given["version"])
        except ChangedMeanwhile as stale:
            form, theirs = _again(form, part, stale, request)
        except BadInput as refused:
            form.refuse(refused)
        else:
            note(request, "units.part.corrected", slot=say(f"units.slot.{slot}", language))
            return redirect(address("end", unit, axle, side))
    context = {**_head(unit, axles, axle, side, language), "form": form, "theirs": theirs}
    context |= {"slot": say(f"units.slot.{slot}", language), "part": part}
    return render(request, "units/correct.html", context | {"another_url": address("another", unit, axle, side, slot)})


def _part(unit: Unit, axle: int, side: str, slot: str) -> FittedPart | None:
    if slot not in FIELDS:
        raise Http404(slot)
    rows = FittedPart.objects.filter(unit=unit, axle=axle, side=side, slot=slot, removed_at=None)
    return rows.select_related("unit").first()  # type: ignore[no-any-return]


def _of_the_part(request: HttpRequest, slot: str) -> dict[str, Any]:
    shop, person = request.shop, request.user  # type: ignore[attr-defined]
    return {"slot": slot, "measure": measure_for(shop, person.measure), "language": language_of(request)}  # type: ignore[union-attr]


def _again(
    form: CorrectForm, part: FittedPart, stale: ChangedMeanwhile, request: HttpRequest
) -> tuple[CorrectForm, list[tuple[str, str]]]:
    """Return the form with what was typed, ready to be saved over what is shown beside it: the other's save."""
    part.refresh_from_db()
    typed = form.data.copy()  # type: ignore[attr-defined]
    typed["version"] = version_of(part)
    again = CorrectForm(typed, **_of_the_part(request, part.slot))
    again.is_valid()
    again.refuse(stale)
    return again, lines_of(part.slot, part.spec, language_of(request))


@allowed(*CHANGE)
def another(request: HttpRequest, number: str, axle: int, side: str, slot: str) -> HttpResponse:
    """Record that another part was fitted; what was there stays on record with its end."""
    unit, axles = _place(number, axle, side)
    language, old = language_of(request), _part(unit, axle, side, slot)
    shown = last_shown(unit)
    spec = {} if old is None else old.spec
    begun = PartForm.initial_of(slot, spec) | {"at": now_here(), "fitted_meter": "" if shown is None else shown.text}
    form = AnotherForm(request.POST or None, initial=begun, **_of_the_part(request, slot))
    if old is None:
        form.fields["why"].required = False
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            fit_another(
                unit,
                axle=axle,
                side=side,
                slot=slot,
                spec=form.spec,
                at=given["at"],
                by=request.user,  # type: ignore[arg-type]
                lot=given["lot"],
                meter=given["fitted_meter"],
                why=given["why"],
            )
        except BadInput as refused:
            form.refuse(refused)
        else:
            note(request, "units.part.fitted", slot=say(f"units.slot.{slot}", language))
            return redirect(address("end", unit, axle, side))
    context = {**_head(unit, axles, axle, side, language), "form": form, "old": old}
    return render(request, "units/another.html", context | {"slot": say(f"units.slot.{slot}", language)})


# -- the same at other ends


def _copy_form(data: Any, axles: Sequence[Axle], here: End, fitted: Collection[str], language: str) -> CopyForm:
    """Return the form that copies: the parts of this end, and every other end with the opposite one chosen."""
    slots = [(slot, say(f"units.slot.{slot}", language)) for slot in FIELDS if slot in fitted]
    ends = [
        (f"{axle.number}-{side}", end_name(axle.number, side, language))
        for axle in axles
        for side in SIDES
        if (axle.number, side) != here
    ]
    opposite = "right" if here[1] == "left" else "left"
    begun = {"slots": [], "ends": [f"{here[0]}-{opposite}"]}
    return CopyForm(data, language=language, slots=slots, ends=ends, initial=begun)


@require_POST
@allowed(*CHANGE)
def copy(request: HttpRequest, number: str, axle: int, side: str) -> HttpResponse:
    """Record at other ends the parts of this one."""
    unit, axles = _place(number, axle, side)
    language = language_of(request)
    rows = FittedPart.objects.filter(unit=unit, axle=axle, side=side, removed_at=None)
    form = _copy_form(request.POST, axles, (axle, side), {part.slot for part in rows}, language)
    if form.is_valid():
        ends = [(int(one), other) for one, _, other in (text.partition("-") for text in form.cleaned_data["ends"])]
        try:
            slots = form.cleaned_data["slots"]
            copy_parts(unit, source=(axle, side), slots=slots, ends=ends, by=request.user)  # type: ignore[arg-type]
        except BadInput as refused:
            form.refuse(refused)
        else:
            names = listed([end_name(one, other, language) for one, other in ends], language)
            note(request, "units.part.copied", ends=names)
            return redirect(address("end", unit, axle, side))
    return render(request, "units/end.html", _page(request, unit, axles, (axle, side), copying=form))
