"""The page of one job; accepting it with its people, adding a task, dropping it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from treadle.errors import BadInput
from treadle.reports.plan_view import Drawing, Manner, draw
from treadle.web.bay import jobs
from treadle.web.bay.fitting import parts_of, still_to_record
from treadle.web.bay.forms import AcceptForm, AddTaskForm, HandOverForm, WhyForm, by_hand_of
from treadle.web.bay.models import Job, JobHand, JobTask
from treadle.web.bay.overview import next_said, next_state, timeline, waits_for
from treadle.web.bay.proposal_json import hazard_as_json, in_language
from treadle.web.bay.steps import ends_of, proof_of, states_of, torques_of
from treadle.web.bay.takes import must_be_done, what_it_takes
from treadle.web.bay.views.listing import re_checks_waiting
from treadle.web.bay.views.shared import DO, KEEP, PAPERS, SEE, address, job_named, language_of, note, person_of
from treadle.web.bay.wording import end_of, qualified_as, reasons_of, task_of
from treadle.web.people.access import allowed
from treadle.web.units.meters import last_shown
from treadle.web.units.models import Axle
from treadle.web.units.outlook import outlooks
from treadle.web.units.specs import summary_of
from treadle.web.units.to_core import record_of_unit
from treadle.words import say


@require_GET
@allowed(*SEE)
def job_page(request: HttpRequest, job: str) -> HttpResponse:
    """Show a job: why, what, who, how far, and what happened to it."""
    row, language, by = job_named(job), language_of(request), person_of(request)
    hands = jobs.hands_on(row)
    states = states_of(row)
    found = {
        "job": row,
        "plan": plan_of(row, language),
        "tasks": [_task(task, language) for task in row.tasks.all()],
        "waits": waits_for(row, hands, language),
        "hands": [_hand(hand, language) for hand in hands],
        "progress": next_said(states, language) if states else "",
        "finished": bool(states) and next_state(states) is None,
        "meter": last_shown(row.unit),
        "takes": _takes(row, language),
        "parts": [_part(part, language) for part in parts_of(row)],
        "parts_open": len(still_to_record(row)),
        "torques": [
            {"row": one, "where": end_of(one.axle, (one.side,) if one.side else (), language)}
            for one in torques_of(row)
        ],
        "proof": proof_of(row),
        "re_checks": re_checks_waiting(job=row),
        "timeline": timeline(row, language),
        "papers": PAPERS,
        "mine": any(hand.person_id == by.pk for hand in hands),
        "may_do": by.may(*DO),
        "may_keep": by.may(*KEEP),
        "proves": not jobs.only_finds(row),
        "release": getattr(row, "release", None),
    }
    return render(request, "bay/job.html", found)


def plan_of(job: Job, language: str) -> Drawing:
    """Draw the job's unit as it stands, the wheel ends worked on pointed out."""
    unit, outlook = record_of_unit(job.unit), outlooks([job.unit_id], language)[job.unit_id]
    axles = Axle.objects.filter(unit=job.unit)
    manner = Manner(
        worked=ends_of(job),
        single=frozenset(axle.number for axle in axles if not axle.dual),
        spread=job.unit.layout == "trailer_spread_drum",
    )
    return draw(unit, outlook.ends, outcome=outlook.outcome, joints=outlook.joints, language=language, manner=manner)


def _task(task: JobTask, language: str) -> dict[str, Any]:
    return {
        "said": task_of(task, language),
        "must": must_be_done(task.why),
        "reasons": reasons_of(task.why, language),
    }


def _hand(hand: Any, language: str) -> dict[str, Any]:
    today = timezone.localdate()
    return {"row": hand, "qualified": qualified_as(hand.person, today, language)}


def _part(part: Any, language: str) -> dict[str, Any]:
    return {
        "row": part,
        "where": end_of(part.axle, (part.side,), language),
        "slot": say(f"units.slot.{part.slot}", language),
        "said": summary_of(part.slot, part.spec, language),
    }


def _takes(job: Job, language: str) -> dict[str, Any]:
    """Return what a job takes, in the reader's language."""
    takes = what_it_takes(job)
    return {
        "parts": [
            {
                "name": part.says.says(language),
                "where": end_of(part.axle, part.sides, language),
                "quantity": part.quantity,
                "rule": part.rule.says(language),
                "certain": part.certain,
            }
            for part in takes.parts
        ],
        "hazards": [in_language(hazard_as_json(hazard), language) for hazard in takes.hazards],
        **{
            name: [one.says(language) for one in getattr(takes, name)]
            for name in ("tools", "lifting", "needs", "cautions")
        },
    }


# -- what the lead decides


@allowed(*KEEP)
def accept(request: HttpRequest, job: str) -> HttpResponse:
    """Accept a job: who works, who supervises, where, and by when."""
    row = job_named(job)
    form = AcceptForm(request.POST or None, language=language_of(request), on=timezone.localdate())
    if request.method == "POST" and form.is_valid():
        try:
            jobs.accept(
                row,
                by=person_of(request),
                at=timezone.now(),
                does=form.workers,
                supervises=form.supervisor,
                bay=form.bays.get(form.cleaned_data["bay"]),
                wanted_by=form.cleaned_data["wanted_by"],
            )
        except BadInput as fault:
            form.refuse(fault)
        else:
            note(request, "bay.done.accepted", job=row.number)
            return redirect(address("job", row))
    return render(request, "bay/accept.html", {"job": row, "form": form}, status=422 if form.errors else 200)


@allowed(*DO)
def hand_over(request: HttpRequest, job: str) -> HttpResponse:
    """Hand a job over to other people, with what they are told."""
    row = job_named(job)
    begun = _crew_now(row)
    form = HandOverForm(request.POST or None, language=language_of(request), on=timezone.localdate(), initial=begun)
    if request.method == "POST" and form.is_valid():
        try:
            jobs.check_on_job(row, person_of(request))
            jobs.hand_over(
                row,
                by=person_of(request),
                at=timezone.now(),
                does=form.workers,
                supervises=form.supervisor,
                note=form.cleaned_data["note"],
            )
        except BadInput as fault:
            form.refuse(fault)
        else:
            note(request, "bay.done.handed_over", job=row.number)
            return redirect(address("job", row))
    return render(request, "bay/hand_over.html", {"job": row, "form": form}, status=422 if form.errors else 200)


def _crew_now(job: Job) -> dict[str, Any]:
    """Return who is on a job, as the form of its crew begins."""
    hands = jobs.hands_on(job)
    return {
        "does": [str(one.person_id) for one in hands if one.does == JobHand.Does.WORK],
        "supervises": next((str(one.person_id) for one in hands if one.does == JobHand.Does.SUPERVISE), ""),
    }


@allowed(*DO)
def add_task(request: HttpRequest, job: str) -> HttpResponse:
    """Add a task that the work showed to be needed."""
    row = job_named(job)
    axles = list(Axle.objects.filter(unit=row.unit).order_by("number").values_list("number", flat=True))
    form = AddTaskForm(request.POST or None, language=language_of(request), axles=axles)
    if request.method == "POST" and form.is_valid():
        one = by_hand_of(form.cleaned_data)[0]
        try:
            jobs.add_task(
                row, {"procedure": one.procedure, "axle": one.axle, "sides": one.sides}, by=person_of(request)
            )
        except BadInput as fault:
            form.refuse(fault)
        else:
            note(request, "bay.done.task_added")
            return redirect(address("job", row))
    return render(request, "bay/add_task.html", {"job": row, "form": form}, status=422 if form.errors else 200)


@allowed(*KEEP)
def drop(request: HttpRequest, job: str) -> HttpResponse:
    """Drop a job nobody has begun, with the reason."""
    return _with_reason(request, job, act=jobs.drop, name="drop")


@allowed(*DO)
def pause(request: HttpRequest, job: str) -> HttpResponse:
    """Pause a job: whoever takes it up again reads why, and how the vehicle stands."""
    return _with_reason(request, job, act=jobs.pause, name="pause")


def _with_reason(request: HttpRequest, job: str, *, act: Any, name: str) -> HttpResponse:
    row = job_named(job)
    form = WhyForm(request.POST or None, language=language_of(request))
    if request.method == "POST" and form.is_valid():
        try:
            act(row, by=person_of(request), why=form.cleaned_data["why"])
        except BadInput as fault:
            form.refuse(fault)
        else:
            note(request, f"bay.done.{name}", job=row.number)
            return redirect(address("job", row))
    found = {"job": row, "form": form, "act": name}
    return render(request, "bay/with_reason.html", found, status=422 if form.errors else 200)
