"""The papers of a job: its card, its release record and the re-check slip, as PDF on the shop's paper or the other."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from treadle.errors import BadInput
from treadle.reports import job_card, recheck_slip, release_record
from treadle.web.bay import papers
from treadle.web.bay.models import Job
from treadle.web.bay.views.shared import SEE, address, job_named, language_of, paper_of, person_of, re_check_of, warn
from treadle.web.people.access import EVERYBODY, allowed


@require_GET
@allowed(*SEE)
def card(request: HttpRequest, job: str) -> HttpResponse:
    """Give the job card."""
    row, language = job_named(job), language_of(request)
    try:
        made = papers.job_card_of(
            row, language=language, url=_full(request, row), at=timezone.now(), by=person_of(request)
        )
    except BadInput as fault:
        warn(request, fault)
        return redirect(address("job", row))
    return _pdf(job_card.pdf(made, language, paper_of(request)), f"{row.number}-card")


@require_GET
@allowed(*SEE)
def record(request: HttpRequest, job: str) -> HttpResponse:
    """Give the release record; of a job not released, lead to what is still missing."""
    row, language = job_named(job), language_of(request)
    if row.state != Job.State.RELEASED:
        return redirect(address("release", row))
    made = papers.release_record_of(row.release, language=language, url=_full(request, row))  # type: ignore[attr-defined]
    return _pdf(release_record.pdf(made, language, paper_of(request)), f"{row.number}-release")


@require_GET
@allowed(*EVERYBODY)
def slip(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Give the slip of a re-check; its code opens the form where it is entered."""
    row, language = re_check_of(pk), language_of(request)
    there = request.build_absolute_uri(reverse("bay:re_check", args=[row.pk]))
    made = papers.slip_of(row, language=language, url=there)
    return _pdf(recheck_slip.pdf(made, language, paper_of(request)), f"{row.job.number}-re-check")


def _full(request: HttpRequest, job: Job) -> str:
    return request.build_absolute_uri(address("job", job))


def _pdf(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        content, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}.pdf"'}
    )
