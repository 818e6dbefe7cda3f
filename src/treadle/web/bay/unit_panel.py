"""What the bay shows on a unit's page: jobs that are open, re-checks that are due, and what was done before."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from treadle.web.bay.models import Job, ReCheck
from treadle.web.bay.overview import lines_of
from treadle.web.bay.rechecks import how_due
from treadle.web.bay.views.shared import DO, SEE
from treadle.web.units.models import Unit
from treadle.web.units.panels import Action, Panel, register_action, register_panel

_SHOWN = 12


def fill(request: HttpRequest, unit: Unit) -> Mapping[str, Any] | None:
    """Return the jobs and re-checks of a unit; None where there are none."""
    rows = Job.objects.filter(unit=unit).select_related("unit", "bay", "shop").prefetch_related("tasks")
    waiting = ReCheck.objects.filter(unit=unit, done_at=None).select_related("unit", "job", "shop")
    closed = (Job.State.RELEASED, Job.State.DROPPED)
    by, language = request.user, request.language  # type: ignore[attr-defined]
    found = {
        "open": lines_of(rows.exclude(state__in=closed), by=by, language=language),  # type: ignore[arg-type]
        "re_checks": [
            how_due(row, at=timezone.now()) for row in waiting.prefetch_related("records").order_by("due_on")
        ],
        "past": lines_of(rows.filter(state=Job.State.RELEASED)[:_SHOWN], by=by, language=language),  # type: ignore[arg-type]
        "may_see": by.may(*SEE),  # type: ignore[union-attr]
    }
    return found if any(found[name] for name in ("open", "re_checks", "past")) else None


def address(request: HttpRequest, unit: Unit) -> str | None:
    """Return where a job is proposed, for those who do it."""
    if not request.user.may(*DO) or unit.left_fleet_on is not None:  # type: ignore[union-attr]
        return None
    return f"{reverse('bay:propose')}?unit={unit.number}"


def register() -> None:
    """Show the panel and offer the action on every unit's page."""
    register_panel(Panel("bay", 20, "bay.panel.title", "bay/unit_panel.html", fill))
    register_action(Action("propose", 20, "bay.panel.propose", address))
