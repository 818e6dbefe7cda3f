"""A job on paper: its rows become the job card, the release record and the re-check slip of the core."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import Any

from treadle.assess import Assessment, Finding
from treadle.fleet.read import read_build_date
from treadle.measure import read_quantity
from treadle.procedures import Step, shipped
from treadle.reports.job_card import CardTask, JobCard, card_part
from treadle.reports.parts import Recheck, Seal, Shop, measured_rows
from treadle.reports.recheck_slip import RecheckSlip, Stroke, Wheel
from treadle.reports.release_record import Hand, PartFitted, ReleaseRecord, StepDone, TorqueDone
from treadle.reports.wording import built_of, capital, distance_of, limit_of, measured_of, rule_of
from treadle.web.bay.fitting import parts_of
from treadle.web.bay.jobs import hands_on
from treadle.web.bay.models import Job, JobHand, JobRelease, JobTask, ReCheck, TorqueRecord
from treadle.web.bay.rechecks import re_check_figure
from treadle.web.bay.steps import StepState, ends_of, states_of, torques_of
from treadle.web.bay.takes import must_be_done, what_it_takes
from treadle.web.bay.to_core import steps_of
from treadle.web.bay.wording import (
    end_of,
    entry_said,
    here,
    qualified_as,
    reasons_of,
    step_place,
    task_of,
    torque_record_said,
)
from treadle.web.people.models import Person
from treadle.web.units.meters import last_shown
from treadle.web.units.models import FittedPart, Unit
from treadle.web.units.specs import summary_of
from treadle.web.units.to_core import record_of_unit
from treadle.web.walkaround.judge import judge_as_last_seen
from treadle.web.walkaround.models import Reading, WalkedUnit
from treadle.web.walkaround.stored import read_back
from treadle.words import say, term


def job_card_of(job: Job, *, language: str, url: str, at: datetime, by: Person) -> JobCard:
    """Return the card of a job as it stands: why, what it takes, and every step.

    Parameters
    ----------
    job : Job
        A job with at least one task.
    language : str
        The reader's.
    url : str
        The full address of the job's page.
    at : datetime
        When the card is made.
    by : Person
        Who asks for it.
    """
    unit, takes = record_of_unit(job.unit), what_it_takes(job)
    return JobCard(
        shop=Shop(job.shop.name),
        job=job.number,
        made_at=here(at, job.shop.zone),
        unit=unit,
        described=described(job.unit, language),
        assessment=_assessment_of(job, at=at, by=by),
        tasks=tuple(_card_task(task, steps_of(task, unit), language) for task in job.tasks.all()),
        parts=tuple(card_part(part, language) for part in takes.parts),
        tools=tuple(one.says(language) for one in (*takes.tools, *takes.lifting, *takes.needs)),
        cautions=tuple(caution.says(language) for caution in takes.cautions),
        ends=frozenset(ends_of(job)),
        url=url,
        hands=tuple(_on_card(hand, language) for hand in hands_on(job)),
        bay="" if job.bay is None else job.bay.name,
        meter=_meter_of(job.unit, language),
    )


def described(unit: Unit, language: str) -> str:
    """Return a unit in a few words: "tractor, built March 2019"."""
    built = built_of(read_build_date(unit.built, where=unit.number), language)
    return say("bay.described", language, kind=term(unit.kind, language), built=built)


def _assessment_of(job: Job, *, at: datetime, by: Person) -> Assessment:
    """Return the assessment a job comes from; of one opened without, how the unit was last seen."""
    if job.from_judged is not None:
        _, kept = read_back(job.from_judged)
        if any(one.number == job.unit.number for one in kept.units):
            return kept
    return judge_as_last_seen([job.unit], job.shop, at=at, by=by)[2]


def _card_task(task: JobTask, steps: Iterable[Step], language: str) -> CardTask:
    procedure = shipped()[task.procedure]
    return CardTask(
        title=procedure.title.says(language),
        where=end_of(task.axle, task.sides, language),
        because=reasons_of(task.why, language),
        steps=tuple(steps),
        cautions=tuple(caution.says(language) for caution in procedure.cautions),
        notes=tuple(_notes(task, language)),
        opportunistic=not must_be_done(task.why),
    )


def _notes(task: JobTask, language: str) -> Iterator[str]:
    """Give what planning noted for a task, as it is kept with the job."""
    for proposed in task.job.proposal.get("tasks", ()):
        if (proposed["procedure"], proposed["axle"]) == (task.procedure, task.axle):
            yield from (note[language] for note in proposed["notes"])


def _on_card(hand: JobHand, language: str) -> str:
    return say(f"bay.hand.{hand.does}", language, name=hand.person.name)


def _meter_of(unit: Unit, language: str) -> str:
    shown = last_shown(unit)
    return "" if shown is None else distance_of(shown.reading, language)


# -- the release


def release_record_of(release: JobRelease, *, language: str, url: str) -> ReleaseRecord:
    """Return the release of a job as it was sealed."""
    job, zone = release.job, release.job.shop.zone
    record, assessment = read_back(release.judged)
    states = states_of(job)
    re_check = job.re_checks.order_by("entered_at").first()
    released_at = here(release.entered_at, zone)
    return ReleaseRecord(
        shop=Shop(job.shop.name),
        unit=job.unit.number,
        described=described(job.unit, language),
        job=job.number,
        opened_at=here(job.entered_at, zone),
        released_at=released_at,
        released_by=release.entered_by.name,
        meter=_meter_then(job, language),
        tasks=tuple(task_of(task, language) for task in job.tasks.all()),
        measured=measured_rows(assessment, record, language),
        steps=tuple(_step_done(state, zone, language) for state in states if state.row is not None),
        torque=tuple(_torque_done(row, states, zone, language) for row in torques_of(job)),
        parts=tuple(_part_fitted(part, language) for part in parts_of(job)),
        people=_people(release, released_at.date(), language),
        recheck=None if re_check is None else recheck_of(re_check, language),
        seal=Seal(
            record=hashlib.sha256(release.seal.text.encode()).hexdigest(),
            head=release.seal.digest,
            number=release.seal.number,
        ),
        url=url,
    )


def _meter_then(job: Job, language: str) -> str:
    """Return what the unit's meter showed when the proof was walked, or what it shows."""
    walked = WalkedUnit.objects.filter(walk_around__for_job=job.number, unit=job.unit).exclude(meter="")
    noted = walked.order_by("-walk_around__begun_at").values_list("meter", flat=True).first()
    return _at_meter(noted, language) if noted else _meter_of(job.unit, language)


def _step_done(state: StepState, zone: str, language: str) -> StepDone:
    row = state.row
    assert row is not None  # noqa: S101 - asked of steps written down
    says = state.step.action.says(language)
    if row.passed_over_because:
        says = say("bay.step.passed_over_on_paper", language, action=says, why=row.passed_over_because)
    return StepDone(
        number=state.step.number,
        says=says,
        by=row.entered_by.name,
        at=here(row.done_at, zone),
        where=step_place(state.task, state.step, language),
        hold=tuple(held_of(state, language)),
        second="" if row.second is None else row.second.name,
    )


def held_of(state: StepState, language: str) -> Iterator[str]:
    """Give what the hold point of a step confirmed and measured, as sentences."""
    row, hold = state.row, state.step.hold
    if row is None or hold is None:
        return
    if row.confirmed and hold.confirm is not None:
        yield hold.confirm.says(language)
    for entry in row.measured.get("entries", ()):
        known = next((one for one in hold.measurements if one.kind == entry["kind"]), None)
        yield entry_said(entry, known, language)
    for measurement in hold.measurements:
        if measurement.is_reading:
            for reading in readings_at(state, measurement.kind):
                yield entry_said({"kind": reading.kind, **_value_of(reading.fields, language)}, measurement, language)
    if (torque := row.measured.get("torque")) is not None:
        yield say("bay.torqued", language, value=torque["value"], wrench=torque["wrench"])


def readings_at(state: StepState, kind: str) -> list[Reading]:
    """Return the after-work readings of a kind that a step's hold point asks for, at its end or of the unit."""
    axle, side = state.task.axle, state.step.side
    return [
        one
        for one in state.readings
        if one.kind == kind and (one.axle is None or (one.axle == axle and side in (None, one.side)))
    ]


def _value_of(fields: dict[str, Any], language: str) -> dict[str, str]:
    """Return the value of a reading as text: as read, or from one figure to another, or a word."""
    if fields.get("start") and fields.get("end"):
        return {
            "value": say("bay.from_to", language, start=fields["start"], end=fields["end"], seconds=fields["seconds"])
        }
    value = fields.get("value")
    if value is not None and any(letter.isdigit() for letter in value):
        return {"value": value}
    return {"special": value or fields.get("special", "")}


def _torque_done(row: TorqueRecord, states: Iterable[StepState], zone: str, language: str) -> TorqueDone:
    step = next((one.step for one in states if one.row is not None and one.row.pk == row.pk), None)
    due = row.band.get("calibration_due_on") or row.wrench.calibration_due_on
    return TorqueDone(
        where=end_of(row.axle, (row.side,) if row.side else (), language),
        says=torque_record_said(row.band, step, language),
        wrench=row.wrench.number,
        calibration_due=date.fromisoformat(due) if isinstance(due, str) else due,
        value=row.final,
        by=row.entered_by.name,
        at=here(row.entered_at, zone),
        stages=tuple(row.stages),
    )


def _part_fitted(part: FittedPart, language: str) -> PartFitted:
    name, summary = say(f"units.slot.{part.slot}", language), summary_of(part.slot, part.spec, language)
    return PartFitted(
        where=end_of(part.axle, (part.side,), language),
        name=say("bay.part_named", language, name=name, summary=summary) if summary else name,
        lot=part.lot,
    )


def _people(release: JobRelease, on: date, language: str) -> tuple[Hand, ...]:
    """Return everybody on the job with how they were qualified when it was released, and who released it."""
    hands = release.job.hands.select_related("person").order_by("since", "does")
    did: dict[Person, list[str]] = {}
    for hand in hands:
        did.setdefault(hand.person, []).append(say(f"bay.did.{hand.does}", language))
    did.setdefault(release.entered_by, []).append(say("bay.did.release", language))
    return tuple(
        Hand(
            name=person.name,
            did=capital(", ".join(dict.fromkeys(parts))),
            qualifications=(qualified_as(person, on, language),),
        )
        for person, parts in did.items()
    )


# -- the re-check


def recheck_of(re_check: ReCheck, language: str) -> Recheck:
    """Return when a re-check is due, as the papers say it, with where the distance is written."""
    figure = re_check_figure()
    return Recheck(
        distance=say("bay.re_check.distance", language, low=re_check.miles_from, high=re_check.miles_by),
        low=_at_meter(re_check.due_from, language),
        high=_at_meter(re_check.due_by, language),
        on=re_check.due_on,
        source=say("report.rule", language, citation=str(figure.citation), basis=figure.basis),
    )


def _at_meter(text: str, language: str) -> str:
    return distance_of(read_quantity(text, "length", where="meter"), language) if text else ""


def slip_of(re_check: ReCheck, *, language: str, url: str) -> RecheckSlip:
    """Return the slip a driver takes along: wheels and nuts, and the strokes of relined ends."""
    job, ends = re_check.job, [(end["axle"], end["side"]) for end in re_check.ends]
    states, torques = states_of(job), torques_of(job)
    return RecheckSlip(
        shop=Shop(job.shop.name),
        unit=re_check.unit.number,
        described=described(re_check.unit, language),
        job=job.number,
        released_at=here(re_check.entered_at, job.shop.zone),
        meter=_meter_then(job, language),
        recheck=recheck_of(re_check, language),
        wheels=tuple(_wheel(end, torques, states, language) for end in ends),
        strokes=tuple(_strokes(re_check, ends, language)) if re_check.strokes else (),
        url=url,
    )


def _wheel(end: tuple[int, str], torques: Iterable[TorqueRecord], states: Iterable[StepState], language: str) -> Wheel:
    row = next((one for one in reversed([*torques]) if one.axle == end[0] and one.side in (end[1], "")), None)
    where = end_of(end[0], (end[1],), language)
    if row is None:
        return Wheel(where=where)
    step = next((one.step for one in states if one.row is not None and one.row.pk == row.pk), None)
    return Wheel(where=where, studs=row.studs or None, torque=torque_record_said(row.band, step, language))


def _strokes(re_check: ReCheck, ends: Iterable[tuple[int, str]], language: str) -> Iterator[Stroke]:
    """Give the stroke of each end after the work, with the limit it was held against."""
    _, assessment = read_back(re_check.job.release.judged)
    for axle, side in ends:
        found = _stroke_finding(assessment, axle, side)
        where = end_of(axle, (side,), language)
        if found is None:
            yield Stroke(where=where)
        else:
            verdict = found.verdict
            yield Stroke(
                where=where,
                last=measured_of(found, language),
                limit=limit_of(verdict, language),
                rule=rule_of(verdict, language),
            )


def _stroke_finding(assessment: Assessment, axle: int, side: str) -> Finding | None:
    return next(
        (
            one
            for one in assessment.findings
            if (one.axle, one.side) == (axle, side) and one.verdict.args.get("kind") == "applied_stroke"
        ),
        None,
    )
