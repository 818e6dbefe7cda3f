"""Doing a job: beginning and going on, one step at a time, hold points, corrections, and measuring after the work."""

from __future__ import annotations

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from treadle.errors import BadInput
from treadle.web.bay import jobs, steps
from treadle.web.bay.forms import PassOverForm
from treadle.web.bay.models import Job, StepRecord
from treadle.web.bay.overview import next_state
from treadle.web.bay.step_form import SecondNotProved, StepForm
from treadle.web.bay.step_page import phases_of, readings_shown, step_shown, token_of
from treadle.web.bay.steps import StepState
from treadle.web.bay.takes import cautions_of
from treadle.web.bay.views.shared import DO, KEEP, SEE, address, job_named, language_of, note, person_of, warn
from treadle.web.people.access import allowed
from treadle.web.walkaround.judge import judge_file
from treadle.web.walkaround.models import WalkAround
from treadle.web.walkaround.to_core import as_file
from treadle.words import say


@require_POST
@allowed(*DO)
def begin(request: HttpRequest, job: str) -> HttpResponse:
    """Begin a job, or take a paused one up again."""
    row = job_named(job)
    try:
        jobs.begin_work(row, by=person_of(request))
    except BadInput as fault:
        warn(request, fault)
        return redirect(address("job", row))
    return redirect(address("steps", row))


@require_POST
@allowed(*DO)
def measure(request: HttpRequest, job: str) -> HttpResponse:
    """Begin the after-work walk-around, or go on with it."""
    row = job_named(job)
    if row.state != Job.State.UNDER_WAY:
        messages.error(request, say("error.job_not_under_way", language_of(request), where=row.number))
        return redirect(address("job", row))
    try:
        walk = steps.begin_proof(row, by=person_of(request), at=timezone.now(), zone=row.shop.zone)
    except BadInput as fault:
        warn(request, fault)
        return redirect(address("job", row))
    return redirect("walkaround:walk", pk=walk.pk)


# -- one step


@require_GET
@allowed(*SEE)
def current(request: HttpRequest, job: str) -> HttpResponse:
    """Show the step that is next; where all are done, what comes then."""
    row = job_named(job)
    states = steps.states_of(row)
    state = next_state(states)
    return _page(request, row, states, state, _form(request, row, state))


@allowed(*SEE)
def step(request: HttpRequest, job: str, task: int, step: str) -> HttpResponse:
    """Show a step, and write it down."""
    row = job_named(job)
    states = steps.states_of(row)
    state = _state(states, task, step)
    if request.method == "POST" and person_of(request).may(*DO):
        return _write_down(request, row, states, state)
    return _page(request, row, states, state, _form(request, row, state))


def _state(states: list[StepState], task: int, step: str) -> StepState:
    for state in states:
        if (state.task.position + 1, state.step.id) == (task, step):
            return state
    raise Http404(step)


def _form(request: HttpRequest, job: Job, state: StepState | None) -> StepForm | None:
    """Return the form of a step for somebody who may write it down now; None where there is nothing to write."""
    if state is None or job.state != Job.State.UNDER_WAY or not person_of(request).may(*DO):
        return None
    correcting = request.POST.get("corrects") or (request.GET.get("correct") and state.row is not None)
    if state.row is not None and not correcting:
        return None
    by = person_of(request)
    return StepForm(
        request.POST or None,
        step=state.step,
        by=by,
        measure=by.measure or job.shop.measure,
        language=language_of(request),
        correcting=bool(correcting),
        initial={} if state.row is None else {"corrects": state.row.pk},
    )


def _write_down(request: HttpRequest, job: Job, states: list[StepState], state: StepState) -> HttpResponse:
    form = _form(request, job, state)
    if form is None:
        return _written_by_another(request, job, state)
    if form.is_valid() and _written(request, form, job, state):
        return redirect(address("steps", job))
    return _page(request, job, states, state, form, status=422)


def _written(request: HttpRequest, form: StepForm, job: Job, state: StepState) -> bool:
    """Write the step down; where it is refused, say on the form why and keep what was entered."""
    language, entered = language_of(request), form.cleaned_data
    try:
        steps.write_down(
            job,
            state.task,
            state.step,
            record_id=entered["record"],
            by=person_of(request),
            at=timezone.now(),
            confirmed=entered.get("confirmed", False),
            second=form.second_person(request),
            entries=form.entries,
            torque=form.torque,
            note=entered["note"],
            corrects=StepRecord.objects.filter(pk=entered["corrects"]).first() if entered["corrects"] else None,
            why_corrected=entered.get("why_corrected", ""),
        )
    except SecondNotProved:
        form.add_error("second_password", say("bay.second_not_proved", language))
    except steps.HoldPointLacks as fault:
        form.lacks(fault)
    except BadInput as fault:
        form.refuse(fault, "wrench" if _about_wrench(fault) else None)
    else:
        return True
    return False


def _about_wrench(fault: BadInput) -> bool:
    return fault.problems[0].slug in ("unknown_tool", "calibration_unknown", "calibration_overdue")


def _written_by_another(request: HttpRequest, job: Job, state: StepState) -> HttpResponse:
    """Show the step as somebody else wrote it down, or why nothing can be written now; a double tap goes on."""
    if state.row is not None and str(state.row.pk) == request.POST.get("record"):
        return redirect(address("steps", job))
    if state.row is None:
        messages.error(request, say("error.job_not_under_way", language_of(request), where=job.number))
    else:
        who = state.row.entered_by.name
        messages.error(request, say("error.step_written", language_of(request), where=job.number, who=who))
    return redirect(address("step", job, state.task.position + 1, state.step.id))


@require_POST
@allowed(*KEEP)
def pass_over(request: HttpRequest, job: str, task: int, step: str) -> HttpResponse:
    """Pass over a step that is no hold point, with the lead's reason."""
    row = job_named(job)
    state = _state(steps.states_of(row), task, step)
    form = PassOverForm(request.POST, language=language_of(request))
    if not form.is_valid():
        messages.error(request, say("error.no_reason", language_of(request), where=row.number))
        return redirect(address("step", row, task, step))
    try:
        steps.write_down(
            row,
            state.task,
            state.step,
            record_id=form.cleaned_data["record"],
            by=person_of(request),
            at=timezone.now(),
            passed_over_because=form.cleaned_data["why"],
        )
    except BadInput as fault:
        warn(request, fault)
        return redirect(address("step", row, task, step))
    note(request, "bay.done.passed_over")
    return redirect(address("steps", row))


# -- the list beside it


@require_GET
@allowed(*SEE)
def steps_list(request: HttpRequest, job: str) -> HttpResponse:
    """Give the list of steps anew where somebody wrote something down since; nothing where nobody did."""
    row = job_named(job)
    states = steps.states_of(row)
    proof = steps.proof_of(row)
    token = token_of(states, _readings(proof))
    if request.GET.get("seen") == token:
        return HttpResponse(status=204)
    here = next((one for one in states if f"{one.task.position + 1}/{one.step.id}" == request.GET.get("here")), None)
    phases = phases_of(states, here, language_of(request))
    found = {"job": row, "phases": phases, "token": token, "here": here, "meanwhile": _meanwhile(request, here)}
    return render(request, "bay/steps_list.html", found)


def _meanwhile(request: HttpRequest, here: StepState | None) -> StepRecord | None:
    """Return what somebody else wrote down of the step on the screen while its form was open."""
    if request.GET.get("open") != "1" or here is None:
        return None
    return here.row


def _readings(proof: WalkAround | None) -> int:
    return 0 if proof is None else proof.readings.count()


def _page(
    request: HttpRequest,
    job: Job,
    states: list[StepState],
    state: StepState | None,
    form: StepForm | None,
    *,
    status: int = 200,
) -> HttpResponse:
    language, proof = language_of(request), steps.proof_of(job)
    barrier = None if state is None else steps.barrier_before(states, state)
    found: dict[str, Any] = {
        "job": job,
        "state": state,
        "form": form,
        "step": None if state is None else step_shown(state, language, named=len({one.task.pk for one in states}) > 1),
        "barrier": barrier,
        "barrier_url": barrier and address("step", job, barrier.task.position + 1, barrier.step.id),
        "lacking": [] if state is None or state.row is None else [one.says.says(language) for one in state.missing],
        "readings": [] if state is None else _read_so_far(job, state, proof, language),
        "phases": phases_of(states, state, language),
        "token": token_of(states, _readings(proof)),
        "here": state,
        "done": sum(one.done for one in states),
        "total": len(states),
        "cautions": [one.says(language) for one in cautions_of(job.tasks.all())],
        "first": not any(one.row is not None for one in states),
        "may_do": person_of(request).may(*DO),
        "may_keep": person_of(request).may(*KEEP),
        "passing_over": PassOverForm(language=language, initial={"record": uuid.uuid4()}),
    }
    return render(request, "bay/steps.html", found, status=status)


def _read_so_far(job: Job, state: StepState, proof: WalkAround | None, language: str) -> list[dict[str, Any]]:
    """Return what the step wants from the after-work walk-around, with verdicts on what is read."""
    if state.step.hold is None or not any(one.is_reading for one in state.step.hold.measurements):
        return []
    findings = () if proof is None else judge_file(as_file(proof), job.shop, at=timezone.now())[1].findings
    return readings_shown(state, findings, language)
