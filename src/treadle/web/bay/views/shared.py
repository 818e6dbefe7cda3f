"""What the bay's views share: the job asked for, who sees, does and keeps, and sentences for the next page."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest
from django.urls import reverse
from django.utils import timezone

from treadle.errors import TreadleError
from treadle.web.bay.models import Job, ReCheck
from treadle.web.people.models import Person, Role
from treadle.words import explain, say

SEE = (Role.TECHNICIAN, Role.LEAD, Role.OWNER, Role.INSPECTOR)
DO = (Role.TECHNICIAN, Role.LEAD)
KEEP = (Role.LEAD,)
RECORD = (Role.TECHNICIAN, Role.LEAD, Role.DRIVER)
"""Who sees jobs, who does them, who accepts and releases them, and who records a re-check."""
PAPERS = ("letter", "a4")


def job_named(number: str) -> Job:
    """Return the shop's job of a number.

    Raises
    ------
    Http404
        The shop has no such job.
    """
    found = Job.objects.filter(number=number).select_related("unit", "bay", "entered_by", "from_judged", "shop").first()
    if found is None:
        raise Http404(number)
    return found  # type: ignore[no-any-return]


def re_check_of(pk: uuid.UUID) -> ReCheck:
    """Return a re-check of the shop.

    Raises
    ------
    Http404
        The shop has no such re-check.
    """
    found = ReCheck.objects.filter(pk=pk).select_related("unit", "job", "shop").prefetch_related("records").first()
    if found is None:
        raise Http404(str(pk))
    return found  # type: ignore[no-any-return]


def language_of(request: HttpRequest) -> str:
    """Return the language to answer in."""
    return request.language  # type: ignore[attr-defined, no-any-return]


def person_of(request: HttpRequest) -> Person:
    """Return who asks."""
    return request.user  # type: ignore[return-value]


def address(name: str, job: Job, *rest: Any) -> str:
    """Return the address of a screen of a job."""
    return reverse(f"bay:{name}", args=[job.number, *rest])


def note(request: HttpRequest, code: str, **arguments: Any) -> None:
    """Leave a sentence for the next page."""
    messages.success(request, say(code, language_of(request), **arguments))


def warn(request: HttpRequest, error: TreadleError) -> None:
    """Leave for the next page why something was not done."""
    messages.error(request, explain(error, language_of(request)))


def now_here() -> Any:
    """Return the moment by the clock of the shop, as a form begins with it."""
    return timezone.localtime().replace(second=0, microsecond=0)


def paper_of(request: HttpRequest) -> str:
    """Return the paper asked for, else the shop's.

    Raises
    ------
    Http404
        There is no such paper.
    """
    paper: str = request.GET.get("paper") or request.shop.paper  # type: ignore[attr-defined]
    if paper not in PAPERS:
        raise Http404(paper)
    return paper


def is_uuid(text: str) -> bool:
    """Whether a text is an id."""
    try:
        uuid.UUID(text)
    except ValueError:
        return False
    return True
