"""One driver's report: the report itself, the carrier's answer, the review of the next driver, and its paper."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_POST

from treadle.reports.wording import capital, place_of
from treadle.sources import cite
from treadle.web.bay.jobs import OPEN
from treadle.web.bay.models import Job
from treadle.web.dispatch import driver, papers
from treadle.web.dispatch.driver_forms import AnswerForm
from treadle.web.dispatch.forms import new_id
from treadle.web.dispatch.views.shared import language_of, note, paper_of, pdf_answer, person_of
from treadle.web.dispatch.wording import condition_said, item_said
from treadle.web.people.access import EVERYBODY, allowed
from treadle.web.people.models import Role
from treadle.web.walkaround.models import DriverReport
from treadle.words import say

ANSWERS = (Role.LEAD, Role.TECHNICIAN)
"""Who answers for the carrier."""
_JOBS_NAMED = 5


@require_GET
@allowed(*EVERYBODY)
def one(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Show a report, its answer and its review."""
    row = _report(pk)
    form = AnswerForm(language=language_of(request), initial={"id": new_id(), "job": _job_of(row)})
    return _shown(request, row, form)


def _report(pk: UUID) -> DriverReport:
    rows = DriverReport.objects.select_related("unit", "entered_by").prefetch_related("answers__entered_by")
    return get_object_or_404(rows, pk=pk)  # type: ignore[no-any-return]


def _job_of(row: DriverReport) -> str:
    """Return the number of the last job that was opened for a report; empty where there is none."""
    return Job.objects.filter(from_report=row).values_list("number", flat=True).first() or ""


def _shown(request: HttpRequest, row: DriverReport, form: AnswerForm, status: int = 200) -> HttpResponse:
    language, person = language_of(request), person_of(request)
    state = driver.state_of(row)
    context = {
        "report": row,
        "state": state,
        "facts": _facts(row, language),
        "answers": list(row.answers.all()),
        "form": form,
        "may_answer": state == "open" and person.may(*ANSWERS),
        "may_review": state == "answered" and person.may(Role.DRIVER),
        "is_driver": person.may(Role.DRIVER),
        "jobs": Job.objects.filter(unit=row.unit, state__in=OPEN)[:_JOBS_NAMED],
        "propose_url": f"{reverse('bay:propose')}?{urlencode({'unit': row.unit.number, 'report': str(row.pk)})}",
        "law": cite("cfr-49-396", "396.11(a)"),
        "next_law": cite("cfr-49-396", "396.13"),
    }
    return render(request, "driver/one.html", context, status=status)


def _facts(row: DriverReport, language: str) -> list[tuple[str, str]]:
    where = place_of(row.unit.number, row.axle, row.side or None, language)
    facts = [
        ("place", where if row.axle else ""),
        ("item", "" if row.nothing_found else capital(item_said(papers.item_of(row), language))),
        ("condition", capital(condition_said(row.condition, language)) if row.condition else ""),
        ("said", row.said),
        ("meter", row.meter),
        ("where", row.where),
    ]
    return [(say(f"driver.fact.{name}", language), value) for name, value in facts if value]


@require_POST
@allowed(*ANSWERS)
def answer(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Certify a reported defect as repaired, or as needing no repair."""
    row, form = _report(pk), AnswerForm(request.POST, language=language_of(request))
    if not form.is_valid():
        return _shown(request, row, form, status=422)
    entered = form.cleaned_data
    try:
        driver.answer(
            entered["id"],
            row,
            what=entered["what"],
            said=entered["said"],
            job=entered["job"].strip(),
            by=person_of(request),
            at=timezone.now(),
        )
    except driver.Refused as refused:
        form.add_error(
            "job" if "job" in refused.details else None,
            say(f"driver.refused.{refused.code}", language_of(request), **refused.details),
        )
        return _shown(request, _report(pk), form, status=409)
    note(request, "driver.answer.done")
    return redirect("driver:one", pk=row.pk)


@require_POST
@allowed(Role.DRIVER)
def review(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Note that a driver has seen a report and its answer."""
    row = _report(pk)
    try:
        driver.review(row, by=person_of(request), at=timezone.now())
    except driver.Refused as refused:
        messages.error(request, say(f"driver.refused.{refused.code}", language_of(request), **refused.details))
    else:
        note(request, "driver.review.done")
    return redirect("driver:one", pk=row.pk)


@require_GET
@allowed(*EVERYBODY)
def photo(request: HttpRequest, pk: UUID) -> HttpResponse:  # noqa: ARG001 - a view takes its request
    """Give the picture of a report."""
    row = _report(pk)
    if not row.photo:
        raise Http404(str(pk))
    headers = {"Cache-Control": "private, no-cache"}
    return FileResponse(row.photo.open("rb"), content_type="image/jpeg", headers=headers)  # type: ignore[return-value]


@require_GET
@allowed(*EVERYBODY)
def paper(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Give a report on paper, with its answer and review as far as there are any."""
    from treadle.reports.defect_report import pdf  # noqa: PLC0415 - its library loads only when a paper is asked for

    row, language = _report(pk), language_of(request)
    url = request.build_absolute_uri(reverse("driver:one", args=[row.pk]))
    made: Any = papers.defect_paper(row, shop=request.shop, language=language, url=url)  # type: ignore[attr-defined]
    return pdf_answer(pdf(made, language, paper_of(request)), f"{row.unit.number}-report")
