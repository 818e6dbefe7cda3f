"""Recording a re-check: by the shop, by a driver on the road, or what another shop did."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.core.files.base import ContentFile
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from treadle.errors import BadInput
from treadle.web.bay import rechecks
from treadle.web.bay.forms import ReCheckForm
from treadle.web.bay.models import ReCheck, ReCheckRecord
from treadle.web.bay.papers import recheck_of
from treadle.web.bay.steps import torques_of
from treadle.web.bay.views.shared import DO, PAPERS, RECORD, language_of, note, now_here, person_of, re_check_of, warn
from treadle.web.bay.wording import end_of
from treadle.web.people.access import EVERYBODY, allowed
from treadle.web.units.meters import last_shown
from treadle.web.walkaround.pictures import cleaned


@allowed(*EVERYBODY)
def re_check(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Show a re-check and take what was done: the wheels by whoever did them, the strokes from a walk-around here."""
    row, by = re_check_of(pk), person_of(request)
    form = _form(request, row) if by.may(*RECORD) and not rechecks.wheels_checked(row) else None
    if request.method == "POST" and form is not None and form.is_valid():
        try:
            record = _record(form, row, request)
        except BadInput as fault:
            form.refuse(fault, "photo" if fault.problems[0].where == "file" else None)
        else:
            moved = any(wheel["moved"] for wheel in record.wheels)
            note(request, "bay.done.re_check_moved" if moved else "bay.done.re_check")
            return redirect("bay:re_check", pk=row.pk)
    return render(request, "bay/re_check.html", _shown(request, row, form), status=422 if form and form.errors else 200)


def _form(request: HttpRequest, row: ReCheck) -> ReCheckForm:
    by = person_of(request)
    return ReCheckForm(
        request.POST or None,
        request.FILES or None,
        language=language_of(request),
        ends=[(end["axle"], end["side"]) for end in row.ends],
        studs={(one.axle, one.side): one.studs for one in torques_of(row.job) if one.studs},
        initial={"done_at": now_here(), "done_by": by.name},
    )


def _record(form: ReCheckForm, row: ReCheck, request: HttpRequest) -> ReCheckRecord:
    entered, photo = form.cleaned_data, form.cleaned_data["photo"]
    return rechecks.record_re_check(
        row,
        record_id=entered["record"],
        done_at=entered["done_at"],
        done_by=entered["done_by"],
        by=person_of(request),
        wheels=form.wheels,
        meter=entered["meter"],
        outside_shop=entered["outside_shop"],
        walk_around=rechecks.strokes_taken(row) if row.strokes else None,
        note=entered["note"],
        photo=None if not photo else ContentFile(cleaned(photo.read()), name=f"{entered['record']}.jpg"),
    )


def _shown(request: HttpRequest, row: ReCheck, form: ReCheckForm | None) -> dict[str, Any]:
    language, by = language_of(request), person_of(request)
    ends = [(end["axle"], end["side"]) for end in row.ends]
    return {
        "row": row,
        "due": rechecks.how_due(row, at=timezone.now()),
        "when": recheck_of(row, language),
        "form": form,
        "ends": [
            {"where": end_of(axle, (side,), language), "fields": form.fields_of(axle, side)} for axle, side in ends
        ]
        if form
        else [],
        "records": [
            _said(record, language)
            for record in row.records.select_related("entered_by", "walk_around").order_by("done_at")
        ],
        "taken": rechecks.strokes_taken(row) if rechecks.strokes_due(row) else None,
        "has_meter": last_shown(row.unit) is not None,
        "may_record": by.may(*RECORD),
        "may_measure": by.may(*DO),
        "papers": PAPERS,
    }


def _said(record: ReCheckRecord, language: str) -> dict[str, Any]:
    wheels = [{**wheel, "where": end_of(wheel["axle"], (wheel["side"],), language)} for wheel in record.wheels]
    return {"row": record, "wheels": wheels, "moved": [wheel for wheel in wheels if wheel["moved"]]}


@require_POST
@allowed(*DO)
def take_strokes(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Record that the strokes were taken again, with the walk-around that has them."""
    row, by = re_check_of(pk), person_of(request)
    walk = rechecks.strokes_taken(row) if rechecks.strokes_due(row) and rechecks.wheels_checked(row) else None
    if walk is None:
        return redirect("bay:re_check", pk=row.pk)
    at, record_id = walk.finished_at or timezone.now(), rechecks.id_of_strokes(row, walk)
    try:
        rechecks.record_re_check(
            row, record_id=record_id, done_at=at, done_by=walk.entered_by.name, by=by, wheels=(), walk_around=walk
        )
    except BadInput as fault:
        warn(request, fault)
    else:
        note(request, "bay.done.strokes")
    return redirect("bay:re_check", pk=row.pk)


@require_GET
@allowed(*EVERYBODY)
def photo(request: HttpRequest, pk: UUID) -> Any:  # noqa: ARG001 - a view takes its request
    """Give the picture of a re-check."""
    row = get_object_or_404(ReCheckRecord.objects, pk=pk)
    if not row.photo:
        raise Http404(str(pk))
    return FileResponse(
        row.photo.open("rb"), content_type="image/jpeg", headers={"Cache-Control": "private, max-age=86400"}
    )
