"""What the screens of dispatch share: who does what, the units an address names, and papers handed out."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from treadle.errors import TreadleError
from treadle.reports.parts import reasons_of
from treadle.web.dispatch.board import Verdict
from treadle.web.dispatch.obstacles import re_checks_open
from treadle.web.dispatch.wording import (
    OF_READINGS,
    age_said,
    count_said,
    described,
    obstacle_said,
    re_check_said,
    rests_on,
)
from treadle.web.people.models import Person, Role
from treadle.web.units.models import Unit
from treadle.words import explain, say

LETS_GO = (Role.LEAD, Role.DISPATCHER)
COUPLES = (Role.LEAD, Role.DISPATCHER, Role.TECHNICIAN, Role.DRIVER)
TAGS = (Role.LEAD, Role.DISPATCHER, Role.TECHNICIAN)
ORDERS = (Role.LEAD,)
"""Who lets go, who couples, who puts a tag on a dash, and who orders a move in the yard."""
PAPERS = ("letter", "a4")
MOST_UNITS = 8
"""Units asked for at once at most."""


class UnknownUnits(Exception):
    """Numbers that no unit of the shop's fleet has."""

    def __init__(self, numbers: Sequence[str]) -> None:
        """Keep the numbers."""
        self.numbers = tuple(numbers)
        super().__init__(", ".join(numbers))


def language_of(request: HttpRequest) -> str:
    """Return the language to answer in."""
    return request.language  # type: ignore[attr-defined, no-any-return]


def person_of(request: HttpRequest) -> Person:
    """Return who asks."""
    return request.user  # type: ignore[return-value]


def note(request: HttpRequest, code: str, **arguments: Any) -> None:
    """Leave a sentence for the next page."""
    messages.success(request, say(code, language_of(request), **arguments))


def warn(request: HttpRequest, error: TreadleError) -> None:
    """Leave for the next page why something was not done."""
    messages.error(request, explain(error, language_of(request)))


def unit_in_fleet(number: str) -> Unit:
    """Return the unit of a number, capitals or not, that is still in the fleet.

    Raises
    ------
    Http404
        The shop has no such unit.
    """
    units = Unit.objects.filter(left_fleet_on=None)
    found = units.filter(number=number).first() or units.filter(number__iexact=number).first()
    if found is None:
        raise Http404(number)
    return found  # type: ignore[no-any-return]


def units_asked(text: str) -> list[Unit]:
    """Return the units of numbers with commas, plus signs or line ends between, from the front, each once.

    Raises
    ------
    UnknownUnits
        The fleet has no unit of one of the numbers.
    """
    numbers = list(dict.fromkeys(number for part in re.split(r"[,+;\n]", text) if (number := part.strip())))
    found = [_in_fleet_or_none(number) for number in numbers[:MOST_UNITS]]
    unknown = [number for number, unit in zip(numbers, found, strict=False) if unit is None]
    if unknown:
        raise UnknownUnits(unknown)
    return [unit for unit in found if unit is not None]


def _in_fleet_or_none(number: str) -> Unit | None:
    try:
        return unit_in_fleet(number)
    except Http404:
        return None


def named(units: Sequence[Unit]) -> dict[str, str]:
    """Return units as a form sends them, and as people say them."""
    numbers = [unit.number for unit in units]
    return {"asked": ",".join(numbers), "numbers": " + ".join(numbers)}


def check_url(units: Sequence[Unit]) -> str:
    """Return the address at which units are checked together."""
    return f"{reverse('dispatch:check')}?units={','.join(unit.number for unit in units)}"


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


def pdf_answer(content: bytes, name: str) -> HttpResponse:
    """Hand out a paper."""
    plain = re.sub(r"[^A-Za-z0-9-]+", "-", name)
    headers = {"Content-Disposition": f'inline; filename="{plain}.pdf"'}
    return HttpResponse(content, content_type="application/pdf", headers=headers)


def verdict_shown(verdict: Verdict, request: HttpRequest, *, at: Any) -> dict[str, Any]:
    """Return a verdict as the screens show it: the whole, what keeps it in, and each unit with what it rests on."""
    language, person = language_of(request), person_of(request)
    assessment = verdict.assessment
    said = [obstacle_said(one, language, person) for one in verdict.obstacles]
    return {
        "verdict": verdict,
        "outcome": assessment.outcome,
        "count": count_said(assessment, language),
        "whole": reasons_of([one for one in assessment.findings if one.unit is None], language),
        "obstacles": [one for one in said if one.code not in OF_READINGS],
        "readings_keep_in": any(one.code in OF_READINGS for one in said),
        "policy": say("dispatch.policy.unseen_let_go", language) if verdict.unseen_let_go else "",
        "units": [_unit_shown(unit, verdict, request, at=at) for unit in verdict.units],
        "re_checks": [re_check_said(one, language) for one in re_checks_open(verdict.units)],
    }


def _unit_shown(unit: Unit, verdict: Verdict, request: HttpRequest, *, at: Any) -> dict[str, Any]:
    language, zone = language_of(request), request.shop.zone  # type: ignore[attr-defined]
    outcome = next(one.outcome for one in verdict.assessment.units if one.number == unit.number)
    rests = rests_on(verdict.record, verdict.assessment, unit.number, at=at, zone=zone, language=language)
    reasons = reasons_of([one for one in verdict.assessment.findings if one.unit == unit.number], language)
    return {
        "number": unit.number,
        "described": described(unit, language),
        "outcome": outcome,
        "reasons": [one for one in reasons if one.outcome in OF_READINGS],
        "watched": [one for one in reasons if one.outcome not in OF_READINGS],
        "rests": [(one, age_said(one.days, language)) for one in rests],
    }
