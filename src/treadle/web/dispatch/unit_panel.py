"""What dispatch shows on a unit's page: may it leave, the lead's order, what was refused, reports."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils import timezone

from treadle.web.dispatch.board import NEVER, unseen_keeps_in
from treadle.web.dispatch.driver import state_of
from treadle.web.dispatch.models import HoldEvent, YardOrder
from treadle.web.dispatch.obstacles import obstacles_of
from treadle.web.dispatch.papers import release_in_force
from treadle.web.dispatch.views.shared import COUPLES, ORDERS, TAGS, check_url, language_of, person_of
from treadle.web.dispatch.wording import obstacle_said, report_said
from treadle.web.people.models import Role
from treadle.web.units.couple import combination_of
from treadle.web.units.models import Unit
from treadle.web.units.outlook import outlooks
from treadle.web.units.panels import Action, Panel, register_action, register_panel
from treadle.web.walkaround.models import DriverReport

_EVENTS, _REPORTS = 5, 5


def fill(request: HttpRequest, unit: Unit) -> Mapping[str, Any] | None:
    """Return how dispatch stands with a unit; None for one that has left the fleet."""
    if unit.left_fleet_on is not None:
        return None
    now, language, person = timezone.now(), language_of(request), person_of(request)
    line = combination_of(unit)
    outcome = outlooks([unit.pk], language)[unit.pk].outcome
    kept_in = NEVER | ({"unseen"} if unseen_keeps_in(unit.shop, now) else set())
    obstacles = [obstacle_said(one, language, person) for one in obstacles_of([unit], shop=unit.shop, at=now)]
    orders = YardOrder.objects.filter(unit=unit).select_related("entered_by")
    events = HoldEvent.objects.filter(unit=unit).select_related("entered_by")
    reports = DriverReport.objects.filter(unit=unit).select_related("entered_by").prefetch_related("answers")
    return {
        "stays": outcome in kept_in or bool(obstacles),
        "combination": " + ".join(one.number for one in line),
        "check_url": check_url(line),
        "obstacles": obstacles,
        "release": release_in_force(line),
        "order": orders.first(),
        "now": now,
        "events": events[:_EVENTS],
        "reports": [(one, report_said(one, language), state_of(one)) for one in reports[:_REPORTS]],
        "number": unit.number,
        "may_tag": person.may(*TAGS),
        "may_order": person.may(*ORDERS),
        "may_couple": person.may(*COUPLES),
    }


def _report_address(request: HttpRequest, unit: Unit) -> str | None:
    if not person_of(request).may(Role.DRIVER) or unit.left_fleet_on is not None:
        return None
    return reverse("driver:choose", args=[unit.number])


def register() -> None:
    """Show the panel, and offer a driver to report, on every unit's page."""
    register_panel(Panel("dispatch", 10, "dispatch.panel.title", "dispatch/unit_panel.html", fill))
    register_action(Action("report", 5, "driver.panel.report", _report_address))
