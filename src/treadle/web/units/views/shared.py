"""What the units' views share: the unit asked for, who may change it, and the moment a form opens with."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest
from django.urls import reverse
from django.utils import timezone

from treadle.web.people.access import EVERYBODY
from treadle.web.people.models import Role
from treadle.web.units.models import Unit
from treadle.words import say

SEE = EVERYBODY
CHANGE = (Role.LEAD, Role.TECHNICIAN)
KEEP = (Role.LEAD,)
"""Who sees units, who changes parts, meters and documents, and who keeps the register."""


def unit_named(number: str) -> Unit:
    """Return the shop's unit of a number, capitals or not.

    Raises
    ------
    Http404
        The shop has no such unit.
    """
    unit = Unit.objects.filter(number=number).first() or Unit.objects.filter(number__iexact=number).first()
    if unit is None:
        raise Http404(number)
    return unit  # type: ignore[no-any-return]


def language_of(request: HttpRequest) -> str:
    """Return the language to answer in."""
    return request.language  # type: ignore[attr-defined, no-any-return]


def address(name: str, unit: Unit, *rest: Any) -> str:
    """Return the address of a screen of a unit."""
    return reverse(f"units:{name}", args=[unit.number, *rest])


def note(request: HttpRequest, code: str, **arguments: Any) -> None:
    """Leave a sentence for the next page."""
    messages.success(request, say(code, language_of(request), **arguments))


def now_here() -> Any:
    """Return the moment, by the clock of the shop, as a form begins with it."""
    return timezone.localtime().replace(second=0, microsecond=0)


def back_to(request: HttpRequest, unit: Unit) -> dict[str, Any]:
    """Return the way back to a unit's page, for the head of a page."""
    return {"unit": unit, "back_url": address("unit", unit), "language": language_of(request)}
