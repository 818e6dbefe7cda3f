"""Releasing a job: refused while anything touched is hold, fix or unseen, or a step, part or torque is missing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from treadle.assess import Assessment, Finding
from treadle.fleet.records import WalkAround as Record
from treadle.procedures import shipped
from treadle.web.base.seal import seal
from treadle.web.bay.fitting import parts_of, still_to_record
from treadle.web.bay.jobs import hours_worked
from treadle.web.bay.models import Job, JobEvent, JobRelease
from treadle.web.bay.rechecks import ask_for_re_check
from treadle.web.bay.steps import StepState, ends_touched, proof_of, states_of, torques_of
from treadle.web.people.models import Person, Qualification, Role
from treadle.web.walkaround.judge import finish, judge_file
from treadle.web.walkaround.models import Judged, WalkAround
from treadle.web.walkaround.to_core import as_file

MAY_NOT = frozenset({"hold", "fix", "unseen"})


@dataclass(frozen=True, slots=True)
class Refusal:
    """A reason why a job is not released: `code` names the sentence under ``bay.refusal``, `details` fill it."""

    code: str
    details: dict[str, Any] = field(default_factory=dict)
    finding: Finding | None = None
    """What the judge found, where that is the reason."""


@dataclass(frozen=True, slots=True)
class Proof:
    """What a job would be released on."""

    walk_around: WalkAround | None
    record: Record | None
    """What was judged, as the core has it."""
    assessment: Assessment | None
    refusals: tuple[Refusal, ...]


def proof_for(job: Job, *, by: Person, at: datetime) -> Proof:
    """Return what speaks against releasing a job now, and what it was judged on.

    Parameters
    ----------
    job : Job
        A job under way.
    by : Person
        Who would release it.
    at : datetime
        The moment, with its zone.
    """
    walk = proof_of(job)
    record, assessment = None, None
    refusals = [*_of_person(by, at), *_of_state(job), *_of_steps(states_of(job)), *_of_parts(job), *_of_torque(job)]
    if walk is None:
        refusals.append(Refusal("no_proof" if ends_touched(job) else "nothing_proved"))
    else:
        record, assessment = judge_file(as_file(walk), job.shop, at=at)
        refusals += _of_assessment(assessment, job)
    return Proof(walk, record, assessment, tuple(refusals))


def _of_person(by: Person, at: datetime) -> Iterable[Refusal]:
    if not by.may(Role.LEAD):
        yield Refusal("lead_only")
    if by.qualified(Qualification.ForWhat.BRAKES, _day(at, by)) is None:
        yield Refusal("not_qualified", {"who": by.name})


def _day(at: datetime, by: Person) -> date:
    """Return the day it is in the person's shop."""
    return at.astimezone(ZoneInfo(by.shop.zone)).date()


def _of_state(job: Job) -> Iterable[Refusal]:
    if job.state != Job.State.UNDER_WAY:
        yield Refusal("not_under_way")


def _of_steps(states: Iterable[StepState]) -> Iterable[Refusal]:
    for state in states:
        if state.done:
            continue
        where: dict[str, Any] = {
            "number": state.step.number,
            "axle": state.task.axle,
            "position": state.task.position + 1,
        }
        where |= {"task": str(state.task.pk), "id": state.step.id}
        yield Refusal("hold_point" if state.step.hold is not None else "step", where)


def _of_parts(job: Job) -> Iterable[Refusal]:
    for task, side, slot in still_to_record(job):
        yield Refusal("part", {"axle": task.axle, "side": side, "slot": slot})


def _of_torque(job: Job) -> Iterable[Refusal]:
    done = {(one.axle, one.side) for one in torques_of(job)}
    for axle, side in wheels_off(job):
        if (axle, side) not in done and (axle, "") not in done:
            yield Refusal("torque", {"axle": axle, "side": side})


def wheels_off(job: Job) -> list[tuple[int, str]]:
    """Return the ends whose wheels the job's procedures take off, as axle and side."""
    ends = {
        (task.axle, side)
        for task in job.tasks.all()
        if task.axle is not None and shipped()[task.procedure].wheels_off
        for side in task.sides
    }
    return sorted(ends)


def _of_assessment(assessment: Assessment, job: Job) -> Iterable[Refusal]:
    for finding in assessment.findings:
        if finding.outcome in MAY_NOT:
            place = {"axle": finding.axle, "side": finding.side, "says": finding.says(job.shop.language)}
            yield Refusal(f"judged_{finding.outcome}", place, finding)


class ReleaseRefused(Exception):
    """A release was asked for and refused; `refusals` says why, and the refusal is on record."""

    def __init__(self, refusals: tuple[Refusal, ...]) -> None:
        """Keep the reasons."""
        self.refusals = refusals
        super().__init__(", ".join(one.code for one in refusals))


def release(job: Job, *, by: Person, at: datetime) -> JobRelease:
    """Release a job, or put its refusal on record.

    Parameters
    ----------
    job : Job
        A job under way.
    by : Person
        A lead who is qualified for brakes.
    at : datetime
        The moment, with its zone.

    Raises
    ------
    ReleaseRefused
        Something speaks against it.
    """
    proof = proof_for(job, by=by, at=at)
    if proof.refusals or proof.walk_around is None:
        reasons = [{"code": one.code, **one.details} for one in proof.refusals]
        _event(job, "release_refused", by, {"reasons": reasons})
        raise ReleaseRefused(proof.refusals)
    return _release(job, proof.walk_around, by=by, at=at)


@transaction.atomic
def _release(job: Job, walk: WalkAround, *, by: Person, at: datetime) -> JobRelease:
    judged = finish(walk, shop=job.shop, by=by, at=at)
    qualification = by.qualified(Qualification.ForWhat.BRAKES, _day(at, by))
    assert qualification is not None  # noqa: S101 - a release without is refused above
    held = {"evidence": qualification.evidence, "granted_on": qualification.granted_on.isoformat()}
    job.state = Job.State.RELEASED
    job.save(update_fields=["state"])
    row = JobRelease(
        job=job,
        proof=walk,
        judged=judged,
        qualification=held,
        seal=seal("job", job.pk, sealed_record(job, judged, by, at), at=at),
        entered_by=by,
        entered_at=at,
        entered_zone=job.shop.zone,
    )
    row.save()
    _event(job, "released", by, {"seal": row.seal.digest})
    ask_for_re_check(job, wheels_off(job), by=by, at=at)
    return row


def sealed_record(job: Job, judged: Judged, by: Person, at: datetime) -> dict[str, Any]:
    """Return all that is sealed of a job: what was asked, done, measured, tightened and fitted, by whom."""
    return {
        "job": job.number,
        "unit": job.unit.number,
        "tasks": [
            {"procedure": task.procedure, "axle": task.axle, "sides": task.sides, "why": _codes(task.why)}
            for task in job.tasks.all()
        ],
        "steps": [_sealed_step(state) for state in states_of(job)],
        "torques": [
            {
                "axle": one.axle,
                "side": one.side,
                "wrench": one.wrench.number,
                "final": one.final,
                "band": one.band,
                "by": one.entered_by.name,
            }
            for one in torques_of(job)
        ],
        "parts": [
            {"axle": part.axle, "side": part.side, "slot": part.slot, "spec": part.spec, "lot": part.lot}
            for part in parts_of(job)
        ],
        "proof": {"file": judged.inputs, "edition": judged.edition, "outcome": judged.outcome},
        "released": {"by": by.name, "at": at.isoformat()},
    }


def _codes(findings: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    kept = ("outcome", "axle", "side", "rule", "measured", "limit", "citation", "code")
    return [{name: finding.get(name) for name in kept} for finding in findings]


def _sealed_step(state: StepState) -> dict[str, Any]:
    row = state.row
    assert row is not None  # noqa: S101 - a release with a step not written down is refused
    return {
        "task": state.task.procedure,
        "axle": state.task.axle,
        "step": state.step.id,
        "by": row.entered_by.name,
        "at": row.done_at.isoformat(),
        "second": None if row.second is None else row.second.name,
        "measured": row.measured,
        "passed_over_because": row.passed_over_because,
        "note": row.note,
    }


def _event(job: Job, what: str, by: Person, details: dict[str, Any]) -> None:
    JobEvent(job=job, what=what, details=details, entered_by=by, entered_zone=job.shop.zone).save()


def hours_of(job: Job) -> float | None:
    """Return the hours a released job took, less its pauses [h]."""
    return hours_worked(job.events.all())
