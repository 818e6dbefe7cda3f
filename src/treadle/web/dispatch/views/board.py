"""The board: what may not leave and why, what may, and what stands alone; one look at five in the morning."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET

from treadle.reports.wording import listed
from treadle.web.dispatch.board import NEVER
from treadle.web.dispatch.overview import WAITS, Details, Line, details_of, fleet_lines
from treadle.web.dispatch.views.shared import COUPLES, LETS_GO, language_of, person_of
from treadle.web.dispatch.wording import obstacle_said, re_check_said
from treadle.web.people.access import EVERYBODY, allowed
from treadle.web.people.models import Person, Role
from treadle.words import say, term

A_PAGE = 30
"""Lines on a page. A small fleet stands on one; of a large one the worst come first."""
SHOWS = ("stays", "goes", "alone")
_MEASURES = (Role.LEAD, Role.TECHNICIAN)


@require_GET
@allowed(*EVERYBODY)
def board(request: HttpRequest) -> HttpResponse:
    """Show what may leave and what may not."""
    now, language, person = timezone.now(), language_of(request), person_of(request)
    every = fleet_lines(request.shop, at=now)  # type: ignore[attr-defined]
    sought = request.GET.get("q", "").strip()[:60]
    show = request.GET.get("show", "") if request.GET.get("show", "") in SHOWS else ""
    found = [line for line in every if _has(line, sought)]
    page = Paginator([line for line in found if show in ("", line.state)], A_PAGE).get_page(request.GET.get("page"))
    shown = list(page.object_list)
    details = details_of(shown, at=now, language=language)
    context = {
        "q": sought,
        "show": show,
        "shows": [(name, sum(line.state == name for line in found)) for name in SHOWS],
        "held": listed([_numbers(line) for line in every if line.group == "hold"], language),
        "sections": _sections(shown, details, language, person),
        "page": page,
        "query": _query(sought, show),
        "empty_fleet": not every,
        "may_let_go": person.may(*LETS_GO),
        "may_couple": person.may(*COUPLES),
    }
    return render(request, "dispatch/board.html", context)


def _has(line: Line, sought: str) -> bool:
    return not sought or any(sought.lower() in unit.number.lower() for unit in line.units)


def _query(sought: str, show: str) -> str:
    from django.utils.http import urlencode  # noqa: PLC0415 - of this line alone

    given = {name: value for name, value in (("q", sought), ("show", show)) if value}
    return f"{urlencode(given)}&" if given else ""


def _numbers(line: Line) -> str:
    return " + ".join(unit.number for unit in line.units)


def _sections(lines: Sequence[Line], details: Details, language: str, person: Person) -> list[dict[str, Any]]:
    """Return the lines by whether they may leave, and within that by what keeps them in."""
    sections: dict[str, dict[str, Any]] = {}
    for line in lines:
        section = sections.setdefault(line.state, {"state": line.state, "groups": {}})
        group = line.group if line.state == "stays" else line.state
        rows = section["groups"].setdefault(group, {"name": group, "rows": []})["rows"]
        rows.append(_row(line, details, language, person))
    return [{**section, "groups": list(section["groups"].values())} for section in sections.values()]


def _row(line: Line, details: Details, language: str, person: Person) -> dict[str, Any]:
    numbers = [unit.number for unit in line.units]
    obstacles = [obstacle_said(one, language, person) for one in line.obstacles]
    release = details.releases.get(tuple(numbers))
    return {
        "numbers": _numbers(line),
        "kinds": " + ".join(term(unit.kind, language) for unit in line.units),
        "url": f"{reverse('dispatch:check')}?units={line.asked}",
        "outcome": line.outcome,
        "group": line.group,
        "stays": line.group != "goes",
        "behind": line.behind,
        "whys": _whys(line, details),
        "obstacles": obstacles,
        "waits": _waits(line, details, language),
        "measure": _measure_url(line, person),
        "re_checks": [re_check_said(one, language) for number in numbers for one in details.re_checks.get(number, ())],
        "release": release,
        "tags": [unit.number for unit in line.units],
    }


def _whys(line: Line, details: Details) -> list[Any]:
    """Return the finding that decides each unit as bad as the line is; of one that may go, nothing."""
    if line.group in ("goes", WAITS):
        return []
    found = [details.why[unit.number] for unit in line.units if unit.number in details.why]
    return list(dict.fromkeys(why for why in found if why.outcome == line.outcome)) or found[:1]


def _waits(line: Line, details: Details, language: str) -> str:
    """Return what puts right what the readings say: the job that is planned, or that there is none yet."""
    if line.group in ("goes", WAITS) or any(one.code == "job_under_way" for one in line.obstacles):
        return ""
    jobs = [job for unit in line.units for job in details.jobs.get(unit.number, ())]
    if jobs:
        said = [say(f"dispatch.job.{state}", language, job=number) for number, state in jobs]
        return say("dispatch.waits.planned", language, jobs=listed(said, language))
    return say(f"dispatch.waits.{'nobody' if line.outcome in NEVER else 'unseen'}", language)


def _measure_url(line: Line, person: Person) -> str | None:
    """Return where what is unseen is measured, for those who measure."""
    if line.outcome != "unseen" or line.group == "goes" or not person.may(*_MEASURES):
        return None
    return reverse("walkaround:begin", args=[line.units[0].number])
