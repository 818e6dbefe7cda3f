"""The way from a unit's page to walking round it: the one next thing while nobody has seen the unit."""

from __future__ import annotations

from django.http import HttpRequest
from django.urls import reverse

from treadle.web.units.models import Unit
from treadle.web.units.panels import Action, register_action
from treadle.web.walkaround.enter import MAY_WALK_DAILY
from treadle.web.walkaround.models import Standing


def _address(request: HttpRequest, unit: Unit, *, unseen: bool) -> str | None:
    if not request.user.may(*MAY_WALK_DAILY) or unit.left_fleet_on is not None:  # type: ignore[union-attr]
        return None
    seen = Standing.objects.filter(unit=unit).exclude(outcome="unseen").exists()
    return reverse("walkaround:begin", args=[unit.number]) if seen is not unseen else None


def register() -> None:
    """Offer the walk-around on every unit's page: first where the unit is unseen, else after the job."""
    label = "walkaround.on_unit.walk"
    register_action(Action("walk_unseen", 10, label, lambda request, unit: _address(request, unit, unseen=True)))
    register_action(Action("walk", 30, label, lambda request, unit: _address(request, unit, unseen=False)))
