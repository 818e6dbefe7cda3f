"""What each job waits for, in one line, and what happened to it: for the list, the job's page and the unit's."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from treadle.procedures import shipped
from treadle.reports.wording import listed
from treadle.web.bay.jobs import hands_on
from treadle.web.bay.models import Job, JobEvent, JobHand
from treadle.web.bay.steps import StepState, states_of
from treadle.web.bay.wording import end_of, task_of
from treadle.web.people.models import Person
from treadle.words import say


@dataclass(frozen=True, slots=True)
class Line:
    """A job in a list."""

    job: Job
    tasks: tuple[str, ...]
    waits: str
    mine: bool


def lines_of(jobs: Iterable[Job], *, by: Person, language: str) -> list[Line]:
    """Return jobs as a list shows them, one's own first."""
    lines = [line_of(job, by=by, language=language) for job in jobs]
    return sorted(lines, key=lambda one: not one.mine)


def line_of(job: Job, *, by: Person, language: str) -> Line:
    """Return a job as a list shows it, with what it waits for."""
    hands = hands_on(job)
    return Line(
        job=job,
        tasks=tuple(task_of(task, language) for task in job.tasks.all()),
        waits=waits_for(job, hands, language),
        mine=any(hand.person_id == by.pk for hand in hands),
    )


def waits_for(job: Job, hands: Iterable[JobHand], language: str) -> str:
    """Return what a job waits for now."""
    names = listed([hand.person.name for hand in hands if hand.does == JobHand.Does.WORK], language)
    if job.state == Job.State.PROPOSED:
        return say("bay.waits.lead", language)
    if job.state == Job.State.ACCEPTED:
        return say("bay.waits.begin", language, who=names)
    if job.state == Job.State.PAUSED:
        return say("bay.waits.resume", language, why=why_paused(job))
    if job.state == Job.State.UNDER_WAY:
        return say("bay.waits.under_way", language, who=names, next=next_said(states_of(job), language))
    return ""


def why_paused(job: Job) -> str:
    """Return why a job was paused last."""
    event = job.events.filter(what="paused").order_by("-entered_at").first()
    return "" if event is None else str(event.details.get("why", ""))


def next_state(states: Iterable[StepState]) -> StepState | None:
    """Return the first step that is not done; None where all are."""
    return next((state for state in states if not state.done), None)


def next_said(states: list[StepState], language: str) -> str:
    """Return how far the steps are, and which is next."""
    state = next_state(states)
    done = sum(one.done for one in states)
    if state is None:
        return say("bay.next.release", language, steps=len(states))
    return say("bay.next.step", language, done=done, steps=len(states), phase=state.step.phase_title.says(language))


# -- what happened


def timeline(job: Job, language: str) -> list[dict[str, Any]]:
    """Return what happened to a job, the latest first."""
    rows = JobEvent.objects.filter(job=job).select_related("entered_by").order_by("-entered_at")
    return [{"at": row.entered_at, "who": row.entered_by.name, "says": event_said(row, language)} for row in rows]


def event_said(event: JobEvent, language: str) -> str:
    """Return something that happened to a job as a sentence."""
    details = event.details
    code = f"bay.event.{event.what}"
    people = listed(details.get("people", []), language)
    if event.what in ("accepted", "handed_over"):
        said = say(code, language, people=people)
        if details.get("supervises"):
            said = f"{said} {say('bay.event.supervised', language, who=details['supervises'])}"
        return f"{said} {details['note']}" if details.get("note") else said
    if event.what in ("paused", "dropped"):
        return say(code, language, why=details.get("why", ""))
    if event.what == "task_added":
        title = shipped()[details["procedure"]].title.says(language)
        return say(code, language, title=title, where=end_of(details["axle"], (), language))
    if event.what == "release_refused":
        return say(code, language, reasons=len(details.get("reasons", ())))
    if event.what == "released":
        return say(code, language, seal=str(details.get("seal", ""))[:8])
    return say(code, language)
