"""Recording what a job fitted: as the part before it but for what is changed, with its lot; at the other end too."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from treadle.errors import BadInput
from treadle.fleet.records import SIDES
from treadle.web.bay.fitting import OTHERS, parts_of, record_part, still_to_record
from treadle.web.bay.forms import FitForm
from treadle.web.bay.models import Job
from treadle.web.bay.steps import ends_touched
from treadle.web.bay.views.shared import DO, SEE, address, job_named, language_of, note, now_here, person_of
from treadle.web.bay.wording import end_of
from treadle.web.people.access import allowed
from treadle.web.units.models import FittedPart
from treadle.web.units.specs import summary_of
from treadle.words import say


@require_GET
@allowed(*SEE)
def parts(request: HttpRequest, job: str) -> HttpResponse:
    """Show what the job has fitted, what is still to be recorded, and what else may be."""
    row, language = job_named(job), language_of(request)
    due = [_place(axle, side, slot, language) for axle, side, slot in _due(row)]
    named = {(one["axle"], one["side"], one["slot"]) for one in due}
    fitted = [
        {
            **_place(part.axle, part.side, part.slot, language),
            "row": part,
            "said": summary_of(part.slot, part.spec, language),
        }
        for part in parts_of(row)
    ]
    others = [
        _place(end["axle"], end["side"], slot, language)
        for end in ends_touched(row)
        for slot in OTHERS
        if (end["axle"], end["side"], slot) not in named
    ]
    found = {"job": row, "due": due, "fitted": fitted, "others": others, "may_do": person_of(request).may(*DO)}
    return render(request, "bay/parts.html", found)


def _due(job: Job) -> list[tuple[int, str, str]]:
    return [(task.axle or 0, side, slot) for task, side, slot in still_to_record(job)]


def _place(axle: int, side: str, slot: str, language: str) -> dict[str, Any]:
    where = end_of(axle, (side,), language)
    return {"axle": axle, "side": side, "slot": slot, "where": where, "name": say(f"units.slot.{slot}", language)}


@allowed(*DO)
def part(request: HttpRequest, job: str, axle: int, side: str, slot: str) -> HttpResponse:
    """Record one part that the job fitted, and where it is said so, the same at the other end."""
    row = job_named(job)
    ends = {(end["axle"], end["side"]) for end in ends_touched(row)}
    if (axle, side) not in ends or slot not in OTHERS:
        raise Http404(slot)
    old = FittedPart.objects.filter(unit=row.unit, axle=axle, side=side, slot=slot, removed_at=None).first()
    other = next(one for one in SIDES if one != side)
    form = _form(request, row, slot, old, other if (axle, other) in ends else "")
    if request.method == "POST" and form.is_valid():
        try:
            _record(
                row, form, axle, [side, *([other] if form.cleaned_data.get("other_side") else [])], person_of(request)
            )
        except BadInput as fault:
            form.refuse(fault)
        else:
            note(request, "bay.done.part")
            return redirect(address("parts", row))
    found = {
        "job": row,
        "form": form,
        "old": old,
        "state_ok": row.state == Job.State.UNDER_WAY,
        **_place(axle, side, slot, language_of(request)),
    }
    return render(request, "bay/part.html", found, status=422 if form.errors else 200)


def _form(request: HttpRequest, job: Job, slot: str, old: FittedPart | None, other: str) -> FitForm:
    spec = {} if old is None else old.spec
    return FitForm(
        request.POST or None,
        slot=slot,
        measure=person_of(request).measure or job.shop.measure,
        language=language_of(request),
        other_side=other,
        initial={**FitForm.initial_of(slot, spec), "at": now_here()},
    )


@transaction.atomic
def _record(job: Job, form: FitForm, axle: int, sides: list[str], by: Any) -> None:
    entered = form.cleaned_data
    for side in sides:
        record_part(
            job,
            axle=axle,
            side=side,
            slot=form.slot,
            spec=form.spec,
            lot=entered["lot"],
            at=entered["at"],
            by=by,
            why=entered["why"],
        )
