"""Proposing a job: what planning makes of how a unit was last seen, to be ticked; opening it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from treadle.errors import BadInput
from treadle.web.bay.forms import ProposeForm
from treadle.web.bay.jobs import open_jobs, proposal_for
from treadle.web.bay.proposal_json import in_language, proposal_as_json
from treadle.web.bay.proposing import open_proposed
from treadle.web.bay.views.shared import DO, address, is_uuid, language_of, note, person_of
from treadle.web.bay.wording import end_of, reasons_of
from treadle.web.people.access import allowed
from treadle.web.units.models import Axle, Unit
from treadle.web.units.outlook import with_outcomes
from treadle.web.walkaround.models import DriverReport
from treadle.words import explain

_KEEP_IN = ("hold", "fix", "unseen", "watch")


@allowed(*DO)
def propose(request: HttpRequest) -> HttpResponse:
    """Show what is proposed for a unit and open what is ticked; without a unit, ask for which."""
    given = request.POST if request.method == "POST" else request.GET
    if not given.get("unit"):
        return render(request, "bay/choose.html", {"units": _units()})
    unit = _unit(given["unit"])
    report = _report(given.get("report", ""), unit)
    try:
        proposal = proposal_as_json(proposal_for(unit, by=person_of(request), at=timezone.now()))
    except BadInput as fault:
        found = {"unit": unit, "fault": explain(fault, language_of(request))}
        return render(request, "bay/not_whole.html", found, status=422)
    form = _form(request, unit, proposal)
    if request.method == "POST" and form.is_valid():
        job = _open(request, form, unit, report)
        if job is not None:
            return redirect(job)
    found = {"unit": unit, "report": report, "form": form, **_shown(proposal, form, language_of(request))}
    return render(
        request, "bay/propose.html", found | {"open_jobs": open_jobs(unit)}, status=422 if form.errors else 200
    )


def _unit(number: str) -> Unit:
    unit = Unit.objects.filter(number=number, left_fleet_on=None).first()
    if unit is None:
        raise Http404(number)
    return unit  # type: ignore[no-any-return]


def _units() -> list[Any]:
    """Return the units of the fleet that something is proposed for, the worst first."""
    units = with_outcomes(Unit.objects.filter(left_fleet_on=None))
    return sorted(
        (unit for unit in units if unit.outcome in _KEEP_IN), key=lambda one: (_KEEP_IN.index(one.outcome), one.number)
    )


def _report(pk: str, unit: Unit) -> DriverReport | None:
    return DriverReport.objects.filter(pk=UUID(pk), unit=unit).first() if is_uuid(pk) else None  # type: ignore[no-any-return]


def _form(request: HttpRequest, unit: Unit, proposal: dict[str, Any]) -> ProposeForm:
    must = [task["id"] for task in proposal["tasks"] if task["must"]]
    return ProposeForm(
        request.POST or None,
        language=language_of(request),
        tasks=[task["id"] for task in proposal["tasks"]],
        axles=list(Axle.objects.filter(unit=unit).order_by("number").values_list("number", flat=True)),
        initial={"tasks": must},
    )


def _open(request: HttpRequest, form: ProposeForm, unit: Unit, report: DriverReport | None) -> str | None:
    """Open the job and return its address; None where it was refused, with why on the form."""
    entered = form.cleaned_data
    try:
        job = open_proposed(
            unit,
            entered["tasks"],
            by=person_of(request),
            at=timezone.now(),
            by_hand=form.by_hand,
            report=report,
            note=entered["note"],
        )
    except BadInput as fault:
        form.refuse(fault)
        return None
    note(request, "bay.done.opened", job=job.number)
    return address("job", job)


def _shown(proposal: dict[str, Any], form: ProposeForm, language: str) -> dict[str, Any]:
    """Return the proposal as the page has it, in the reader's language."""
    ticked = form["tasks"].value() or []
    spoken = in_language(proposal, language)
    tasks = [
        {
            **spoken_task,
            "where": end_of(task["axle"], task["sides"], language),
            "mates": end_of(task["axle"], task["mate_sides"], language) if task["mate_sides"] else "",
            "reasons": reasons_of(task["because"], language),
            "ticked": task["id"] in ticked,
        }
        for task, spoken_task in zip(proposal["tasks"], spoken["tasks"], strict=True)
    ]
    parts = [{**part, "where": end_of(part["axle"], part["sides"], language)} for part in spoken["parts"]]
    lists = {
        name: reasons_of(proposal[name], language)
        for name in ("measure_first", "look_and_repair", "by_hand", "keep_watching")
    }
    takes = {name: spoken[name] for name in ("tools", "lifting", "hazards", "needs", "cautions")}
    return {"tasks": tasks, "parts": parts, **lists, **takes, "nothing": not (tasks or any(lists.values()))}
