"""The list of jobs by what they wait for, and the re-checks that are due."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from treadle.web.bay.models import Job, ReCheck
from treadle.web.bay.overview import lines_of
from treadle.web.bay.rechecks import Due, how_due
from treadle.web.bay.views.shared import DO, KEEP, SEE, language_of, person_of
from treadle.web.people.access import EVERYBODY, allowed

_ORDER = (Job.State.UNDER_WAY, Job.State.PAUSED, Job.State.ACCEPTED, Job.State.PROPOSED)
_SHOWN_RELEASED = 20
_WORST = {"overdue": 0, "due": 1, "waiting": 2}


@require_GET
@allowed(*SEE)
def jobs(request: HttpRequest) -> HttpResponse:
    """List the jobs that are open, one's own first in each group, and the re-checks that are waited for."""
    by, language = person_of(request), language_of(request)
    rows = Job.objects.filter(state__in=_ORDER).select_related("unit", "bay", "shop").prefetch_related("tasks")
    groups = [
        (state, lines_of([job for job in rows if job.state == state], by=by, language=language)) for state in _ORDER
    ]
    released = Job.objects.filter(state=Job.State.RELEASED).select_related("unit", "release__entered_by")
    found: dict[str, Any] = {
        "groups": [(str(state), lines) for state, lines in groups if lines],
        "re_checks": re_checks_waiting(),
        "released": released.order_by("-release__entered_at")[:_SHOWN_RELEASED],
        "may_do": by.may(*DO),
        "may_keep": by.may(*KEEP),
    }
    return render(request, "bay/list.html", found)


@require_GET
@allowed(*EVERYBODY)
def re_checks(request: HttpRequest) -> HttpResponse:
    """List the re-checks that are waited for, the overdue first; and those done lately."""
    done = ReCheck.objects.exclude(done_at=None).select_related("unit", "job").order_by("-done_at")
    found = {"waiting": re_checks_waiting(), "done": done[:_SHOWN_RELEASED], "may_see": person_of(request).may(*SEE)}
    return render(request, "bay/re_checks.html", found)


def re_checks_waiting(**only: Any) -> list[Due]:
    """Return the re-checks that nobody has recorded whole, the overdue first."""
    rows = (
        ReCheck.objects.filter(done_at=None, **only).select_related("unit", "job", "shop").prefetch_related("records")
    )
    found = [how_due(row, at=timezone.now()) for row in rows]
    return sorted(found, key=lambda one: (_WORST[one.state], one.re_check.due_on, one.re_check.unit.number))
