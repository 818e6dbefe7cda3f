"""A job from proposal to hand-over: what is asked for, who does it, and what happened when."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from treadle.errors import BadInput, Problem
from treadle.planning import Proposal, propose
from treadle.procedures import Facts, shipped
from treadle.web.base.scope import shop_in_scope
from treadle.web.bay.models import Bay, Job, JobEvent, JobHand, JobTask
from treadle.web.bay.to_core import facts_of
from treadle.web.people.models import Person, Qualification, Role
from treadle.web.units.models import Unit
from treadle.web.walkaround.judge import judge_as_last_seen
from treadle.web.walkaround.models import DriverReport, Judged

OPEN = (Job.State.PROPOSED, Job.State.ACCEPTED, Job.State.UNDER_WAY, Job.State.PAUSED)
STARTED = (Job.State.UNDER_WAY, Job.State.PAUSED)


def proposal_for(unit: Unit, *, by: Person, at: datetime) -> Proposal:
    """Return what the bay would do for a unit, as it was last seen."""
    _, record, assessment = judge_as_last_seen([unit], unit.shop, at=at, by=by)
    return propose(assessment, record, unit.number, facts=facts_of(unit), history=hours_by_procedure())


def hours_by_procedure() -> dict[str, list[float]]:
    """Return the hours of the shop's own released jobs of one task each, by procedure: begun to released, no pauses."""
    hours: dict[str, list[float]] = {}
    jobs = Job.objects.filter(state=Job.State.RELEASED).prefetch_related("tasks", "events")
    for job in jobs:
        tasks = list(job.tasks.all())
        if len(tasks) == 1:
            worked = hours_worked(job.events.all())
            if worked is not None:
                hours.setdefault(tasks[0].procedure, []).append(worked)
    return hours


def hours_worked(events: Iterable[JobEvent]) -> float | None:
    """Return the hours from begin to release less the pauses [h]; None where a job was not begun or not released."""
    seconds, since = 0.0, None
    released = False
    for event in sorted(events, key=lambda one: one.entered_at):
        if event.what in ("begun", "resumed") and since is None:
            since = event.entered_at
        elif event.what in ("paused", "released") and since is not None:
            seconds += (event.entered_at - since).total_seconds()
            since = None
        released = released or event.what == "released"
    return seconds / 3600 if released and seconds else None


@transaction.atomic
def open_job(
    unit: Unit,
    tasks: Iterable[Mapping[str, Any]],
    *,
    by: Person,
    proposal: Mapping[str, Any] | None = None,
    from_judged: Judged | None = None,
    from_report: DriverReport | None = None,
    note: str = "",
) -> Job:
    """Open a job on a unit, proposed.

    Parameters
    ----------
    unit : Unit
        The unit.
    tasks : iterable of mapping
        Each ``procedure``, ``axle``, ``sides`` and ``why``, the findings that ask for it as an assessment has them.
    by : Person
        Who opens it.
    proposal : mapping, optional
        What planning proposed, kept beside.
    from_judged, from_report : optional
        What led to it.
    note : str, optional
        Anything else.

    Raises
    ------
    BadInput
        No task, or a procedure or axle nobody knows.
    """
    wanted = list(tasks)
    if not wanted:
        raise BadInput(Problem("job_without_task", unit.number))
    facts = facts_of(unit)
    job = Job(
        number=next_number(),
        unit=unit,
        from_judged=from_judged,
        from_report=from_report,
        proposal=dict(proposal or {}),
        note=note,
        entered_by=by,
        entered_zone=by.shop.zone,
    )
    job.save()
    for position, task in enumerate(wanted):
        _add_task(job, position, task, facts)
    _note(job, "proposed", by)
    return job


def _add_task(job: Job, position: int, task: Mapping[str, Any], facts: Mapping[int, Facts]) -> JobTask:
    if task["procedure"] not in shipped():
        details = {"given": task["procedure"], "allowed": ", ".join(sorted(shipped()))}
        raise BadInput(Problem("word_not_allowed", "procedure", details))
    if task["axle"] not in facts:
        details = {"unit": job.unit.number, "axle": task["axle"], "axles": len(facts)}
        raise BadInput(Problem("unknown_axle", "axle", details))
    known = {name: value for name, value in asdict(facts[task["axle"]]).items() if name != "torque"}
    row = JobTask(
        job=job,
        position=position,
        procedure=task["procedure"],
        axle=task["axle"],
        sides=list(task["sides"]),
        why=list(task.get("why", ())),
        facts=known,
    )
    row.save()
    return row


def next_number() -> str:
    """Return the number of the shop's next job: J-1, J-2 and on."""
    numbers = (job.rpartition("-")[2] for job in Job.objects.values_list("number", flat=True))
    return f"J-{max((int(number) for number in numbers if number.isdigit()), default=0) + 1}"


@transaction.atomic
def add_task(job: Job, task: Mapping[str, Any], *, by: Person) -> JobTask:
    """Add a task to an open job, because the work showed that it is needed; whoever adds it is on record.

    Raises
    ------
    BadInput
        The job is closed, it has this task already, or nobody knows the procedure or the axle.
    """
    if job.state not in OPEN:
        raise BadInput(Problem("job_closed", job.number))
    if job.tasks.filter(procedure=task["procedure"], axle=task["axle"]).exists():
        raise BadInput(Problem("task_there", job.number, {"axle": task["axle"]}))
    added = _add_task(job, job.tasks.count(), task, facts_of(job.unit))
    _note(job, "task_added", by, procedure=added.procedure, axle=added.axle)
    return added


@transaction.atomic
def accept(
    job: Job,
    *,
    by: Person,
    at: datetime,
    does: Iterable[Person],
    supervises: Person | None = None,
    bay: Bay | None = None,
    wanted_by: datetime | None = None,
) -> Job:
    """Accept a job with its people and bay: whoever works on brakes is qualified, or supervised by somebody who is.

    Raises
    ------
    BadInput
        The job is not merely proposed, nobody is on it, or nobody on it is qualified for brakes (49 CFR 396.25).
    """
    people = list(does)
    if job.state != Job.State.PROPOSED:
        raise BadInput(Problem("job_not_proposed", job.number))
    if not people:
        raise BadInput(Problem("nobody_on_job", job.number))
    _check_qualified(job, people, supervises, at)
    job.state, job.bay, job.wanted_by = Job.State.ACCEPTED, bay, wanted_by
    job.save(update_fields=["state", "bay", "wanted_by"])
    _put_on(job, people, supervises, at)
    _note(job, "accepted", by, people=[one.name for one in people], supervises=supervises.name if supervises else "")
    return job


def _check_qualified(job: Job, people: Iterable[Person], supervises: Person | None, at: datetime) -> None:
    """Refuse anybody without evidence for brakes who is not supervised, and a supervisor without it."""
    on = at.astimezone(ZoneInfo(job.shop.zone)).date()
    if supervises is not None:
        if supervises.qualified(Qualification.ForWhat.BRAKES, on) is None:
            raise BadInput(Problem("supervisor_not_qualified", job.number, {"who": supervises.name}))
        return
    unqualified = [one.name for one in people if one.qualified(Qualification.ForWhat.BRAKES, on) is None]
    if unqualified:
        raise BadInput(Problem("not_qualified", job.number, {"who": ", ".join(unqualified)}))


def _put_on(job: Job, people: Iterable[Person], supervises: Person | None, at: datetime) -> None:
    for person in people:
        JobHand(job=job, person=person, does=JobHand.Does.WORK, since=at).save()
    if supervises is not None:
        JobHand(job=job, person=supervises, does=JobHand.Does.SUPERVISE, since=at).save()


@transaction.atomic
def begin_work(job: Job, *, by: Person) -> Job:
    """Begin an accepted job, or take a paused one up again.

    Raises
    ------
    BadInput
        It is neither accepted nor paused, or whoever begins is not on it.
    """
    if job.state not in (Job.State.ACCEPTED, Job.State.PAUSED):
        raise BadInput(Problem("job_not_ready", job.number))
    check_on_job(job, by)
    what = "begun" if job.state == Job.State.ACCEPTED else "resumed"
    _change(job, Job.State.UNDER_WAY)
    _note(job, what, by)
    return job


@transaction.atomic
def pause(job: Job, *, by: Person, why: str) -> Job:
    """Pause a job; the vehicle stays as it stands, and whoever resumes it reads why."""
    if job.state != Job.State.UNDER_WAY:
        raise BadInput(Problem("job_not_under_way", job.number))
    if not why:
        raise BadInput(Problem("no_reason", job.number))
    check_on_job(job, by)
    _change(job, Job.State.PAUSED)
    _note(job, "paused", by, why=why)
    return job


@transaction.atomic
def hand_over(
    job: Job, *, by: Person, at: datetime, does: Iterable[Person], supervises: Person | None = None, note: str = ""
) -> Job:
    """Hand a job over to other people, qualified or supervised like the first; what was said goes with it.

    Raises
    ------
    BadInput
        It has not begun or is released, nobody takes it, or nobody who takes it is qualified.
    """
    people = list(does)
    if job.state not in (Job.State.ACCEPTED, *STARTED):
        raise BadInput(Problem("job_not_under_way", job.number))
    if not people:
        raise BadInput(Problem("nobody_on_job", job.number))
    _check_qualified(job, people, supervises, at)
    for hand in JobHand.objects.filter(job=job, until=None):
        hand.until = at
        hand.save(update_fields=["until"])
    _put_on(job, people, supervises, at)
    named = {"people": [one.name for one in people], "supervises": supervises.name if supervises else ""}
    _note(job, "handed_over", by, **named, note=note)
    return job


@transaction.atomic
def drop(job: Job, *, by: Person, why: str) -> Job:
    """Drop a job nobody has begun, or end one that only found a cause; what was found goes into the reason.

    Raises
    ------
    BadInput
        Something was taken apart, so that it has to be proved and released, or the reason is missing.
    """
    begun_to_repair = job.state not in (Job.State.PROPOSED, Job.State.ACCEPTED) and not only_finds(job)
    if begun_to_repair or job.state not in OPEN:
        raise BadInput(Problem("job_begun", job.number))
    if not why:
        raise BadInput(Problem("no_reason", job.number))
    _change(job, Job.State.DROPPED)
    _note(job, "dropped", by, why=why)
    return job


def only_finds(job: Job) -> bool:
    """Whether a job only looks for causes: it repairs nothing, so nothing is to be proved or released."""
    return not any(shipped()[task.procedure].proves for task in job.tasks.all())


def _change(job: Job, state: str) -> None:
    job.state = state
    job.save(update_fields=["state"])


def _note(job: Job, what: str, by: Person, **details: Any) -> None:
    JobEvent(job=job, what=what, details=details, entered_by=by, entered_zone=by.shop.zone).save()


def hands_on(job: Job) -> list[JobHand]:
    """Return who is on a job now, workers first."""
    rows = JobHand.objects.filter(job=job, until=None).select_related("person")
    return sorted(rows, key=lambda one: (one.does != JobHand.Does.WORK, one.person.name))


def check_on_job(job: Job, by: Person) -> None:
    """Refuse somebody who is neither on a job now nor a lead: only its own people work on it.

    Raises
    ------
    BadInput
        They are not.
    """
    if not (by.may(Role.LEAD) or JobHand.objects.filter(job=job, person=by, until=None).exists()):
        raise BadInput(Problem("not_on_job", job.number, {"who": by.name}))


def open_jobs(unit: Unit) -> list[Job]:
    """Return the jobs of a unit that are neither released nor dropped."""
    return list(Job.objects.filter(unit=unit, state__in=OPEN, shop_id=shop_in_scope()))
