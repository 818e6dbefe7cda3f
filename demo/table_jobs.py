"""The simulated jobs as rows: tasks, hands, events, steps with hold points, torque, releases under seal, re-checks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from demo.people import LEAD
from demo.records import History, Job, ReCheck, Task
from demo.table_units import Books, insert, insert_with_history, note_history
from treadle.fleet.records import Unit
from treadle.measure import Quantity
from treadle.procedures import LUBRICATION_OPEN, Facts, Measurement, Step, edition, shipped, steps_for
from treadle.web.base.seal import seal
from treadle.web.bay import models as rows
from treadle.web.bay.proposal_json import findings_as_json
from treadle.web.bay.release import sealed_record
from treadle.web.bay.to_core import facts_of
from treadle.web.people.models import Qualification
from treadle.web.units.to_core import record_of_unit
from treadle.web.walkaround.models import Judged
from treadle.web.walkaround.stored import assessment_from

_BAD = ("hold", "fix", "unseen", "watch")
_WRENCHES = ("TW-1", "TW-2")
_SYSTEM_PRESSURE = "112 psi"
_STEPS_OF_THE_JOB_UNDER_WAY = 9
"""How far the job under way has come: the vehicle is made safe and the first wheel is being stripped."""


@dataclass(slots=True)
class Workshop:
    """What jobs are entered with: bays and tools by name, and whether every step is written down."""

    books: Books
    bays: dict[str, rows.Bay]
    tools: dict[str, rows.Tool]
    in_full: bool
    """Whether steps, torque and what led to a job are entered too; else only that it was done, and its seal."""
    edition: str = field(default_factory=edition)
    _facts: dict[str, dict[int, Facts]] = field(default_factory=dict)
    _records: dict[str, Unit] = field(default_factory=dict)

    def facts(self, number: str) -> dict[int, Facts]:
        """Return what the bay knows of the axles of a unit."""
        if number not in self._facts:
            self._facts[number] = facts_of(self.books.units[number])
        return self._facts[number]

    def record(self, number: str) -> Unit:
        """Return a unit as the core knows it; the steps of a job ask only what never changes here."""
        if number not in self._records:
            self._records[number] = record_of_unit(self.books.units[number])
        return self._records[number]


def open_workshop(books: Books, began: datetime, today: date, *, in_full: bool) -> Workshop:
    """Enter bays and tools, calibrated within the year."""
    bays = [rows.Bay(shop_id=books.shop.pk, name=name) for name in ("Bay 1", "Bay 2")]
    tools = [
        rows.Tool(
            shop_id=books.shop.pk,
            number=number,
            kind=kind,
            calibrated_on=today - timedelta(days=days),
            calibration_due_on=today - timedelta(days=days) + timedelta(days=365),
        )
        for number, kind, days in (("TW-1", "torque_wrench", 130), ("TW-2", "torque_wrench", 48), ("G-1", "gauge", 201))
    ]
    lead = books.person(LEAD).pk
    for found in (bays, tools):
        insert_with_history(found, ((row, began, lead) for row in found))
    return Workshop(books, {bay.name: bay for bay in bays}, {tool.number: tool for tool in tools}, in_full)


def enter_jobs(workshop: Workshop, history: History, judged: dict[UUID, Judged]) -> None:
    """Enter every job: first as proposed, then with all that was done, last its release and its re-check."""
    entered = _Entered(workshop, judged)
    for job in history.jobs:
        entered.open(job)
    entered.insert()
    for job in sorted((job for job in history.jobs if job.proof), key=lambda job: job.released_at or history.now):
        entered.release(job)
    insert(entered.late_events)
    insert(entered.releases)
    _enter_rechecks(workshop, history.re_checks, entered.jobs)


@dataclass(slots=True)
class _Entered:
    """The rows of a pool's jobs, gathered so that each table is written at once."""

    workshop: Workshop
    judged: dict[UUID, Judged]
    jobs: dict[str, rows.Job] = field(default_factory=dict)
    firsts: list[tuple[rows.Job, datetime, UUID]] = field(default_factory=list)
    lasts: list[tuple[rows.Job, datetime, UUID]] = field(default_factory=list)
    tasks: list[rows.JobTask] = field(default_factory=list)
    hands: list[rows.JobHand] = field(default_factory=list)
    events: list[rows.JobEvent] = field(default_factory=list)
    steps: list[rows.StepRecord] = field(default_factory=list)
    torques: list[rows.TorqueRecord] = field(default_factory=list)
    late_events: list[rows.JobEvent] = field(default_factory=list)
    releases: list[rows.JobRelease] = field(default_factory=list)

    def open(self, job: Job) -> None:
        """Gather the rows of a job up to its release."""
        books, row = self.workshop.books, self._job(job, job.state)
        self.jobs[job.number] = row
        first = self._job(job, "proposed")
        first.pk, first.bay = row.pk, None
        self.firsts.append((first, job.proposed_at, row.entered_by_id))
        last = job.released_at or job.begun_at or job.accepted_at
        if last is not None:
            self.lasts.append((row, last, books.person(LEAD).pk))
        self._event(row, "proposed", job.proposed_by, job.proposed_at)
        if job.accepted_at is not None:
            self._event(row, "accepted", LEAD, job.accepted_at, people=list(job.hands), supervises="")
            self.hands += [
                rows.JobHand(
                    shop_id=books.shop.pk, job=row, person=books.person(name), does="work", since=job.accepted_at
                )
                for name in job.hands
            ]
        if job.begun_at is not None:
            self._event(row, "begun", job.hands[0], job.begun_at)
        for position, task in enumerate(job.tasks):
            self._task(job, row, position, task)

    def insert(self) -> None:
        """Write what was gathered."""
        insert_with_history(list(self.jobs.values()), self.firsts)
        note_history(rows.Job, self.lasts, changed=True)
        for found in (self.tasks, self.hands, self.events, self.steps, self.torques):
            insert(found)

    def release(self, job: Job) -> None:
        """Seal a job and gather its release."""
        assert job.proof is not None  # noqa: S101 - only proved jobs are released
        assert job.released_at is not None  # noqa: S101 - a proved job was released
        books, row, judged = self.workshop.books, self.jobs[job.number], self.judged[job.proof]
        lead, at = books.person(LEAD), job.released_at
        record = sealed_record(row, judged, lead, at) if self.workshop.in_full else _brief(job, judged, at)
        link = seal("job", row.pk, record, at=at)
        evidence = lead.qualified(Qualification.ForWhat.BRAKES, at.date())
        assert evidence is not None  # noqa: S101 - the lead of the demo is qualified
        self.releases.append(
            rows.JobRelease(
                job=row,
                proof_id=job.proof,
                judged=judged,
                qualification={"evidence": evidence.evidence, "granted_on": evidence.granted_on.isoformat()},
                seal=link,
                **books.stamp(LEAD, at),
            )
        )
        self.late_events.append(
            rows.JobEvent(job=row, what="released", details={"seal": link.digest}, **books.stamp(LEAD, at))
        )

    def _job(self, job: Job, state: str) -> rows.Job:
        led_to_it = self.judged.get(job.from_walk_around)
        row = rows.Job(
            number=job.number,
            unit=self.workshop.books.units[job.unit],
            state=state,
            from_judged=led_to_it,
            bay=self.workshop.bays[job.bay] if state != "proposed" else None,
            **self.workshop.books.stamp(job.proposed_by, job.proposed_at),
        )
        row.shop = self.workshop.books.shop
        return row

    def _event(self, row: rows.Job, what: str, by: str, at: datetime, **details: Any) -> None:
        self.events.append(rows.JobEvent(job=row, what=what, details=details, **self.workshop.books.stamp(by, at)))

    def _task(self, job: Job, row: rows.Job, position: int, task: Task) -> None:
        facts = self.workshop.facts(job.unit)[task.axle]
        entry = rows.JobTask(
            shop_id=self.workshop.books.shop.pk,
            job=row,
            position=position,
            procedure=task.procedure,
            axle=task.axle,
            sides=list(task.sides),
            why=self._why(job, task),
            facts={name: value for name, value in asdict(facts).items() if name != "torque"},
            edition=self.workshop.edition,
        )
        self.tasks.append(entry)
        if self.workshop.in_full and job.begun_at is not None:
            self._steps(job, entry, task, facts)

    def _why(self, job: Job, task: Task) -> list[dict[str, Any]]:
        judged = self.judged.get(job.from_walk_around)
        if judged is None:
            return []
        kept = assessment_from(judged.result, self.workshop.books.shop.language)
        return findings_as_json(
            finding
            for finding in kept.findings
            if finding.unit == job.unit
            and finding.axle == task.axle
            and finding.side in (None, *task.sides)
            and finding.outcome in _BAD
        )

    def _steps(self, job: Job, entry: rows.JobTask, task: Task, facts: Facts) -> None:
        """Write down the steps of a task: those of a released job all, those of one under way as far as it has come."""
        unit = self.workshop.record(job.unit)
        steps = steps_for(shipped()[task.procedure], unit, task.axle, task.sides, facts)
        if job.released_at is None:
            steps = steps[:_STEPS_OF_THE_JOB_UNDER_WAY]
        assert job.begun_at is not None  # noqa: S101 - only begun jobs have steps
        until = job.released_at or job.begun_at + timedelta(minutes=95)
        pace = (until - job.begun_at - timedelta(minutes=5)) / max(len(steps), 1)
        for number, step in enumerate(steps, start=1):
            self._step(job, entry, task, step, at=job.begun_at + pace * number)

    def _step(self, job: Job, entry: rows.JobTask, task: Task, step: Step, *, at: datetime) -> None:
        books, hold = self.workshop.books, step.hold
        kinds = hold.kinds if hold is not None else ()
        by = job.hands[0]
        second = job.hands[1] if len(job.hands) > 1 else LEAD
        measured: dict[str, Any] = {"entries": list(_entries(step, task))}
        if "torque" in kinds:
            measured["torque"] = self._torque(entry, task.axle, step, by=by, at=at)
        self.steps.append(
            rows.StepRecord(
                task=entry,
                step=step.id,
                side=step.side or "",
                done_at=at,
                confirmed=True,
                measured=measured,
                note="Bushings worn, cam loose in them" if "note" in kinds else "",
                second_id=books.person(second).pk if "second_person" in kinds else None,
                **books.stamp(by, at),
            )
        )

    def _torque(self, entry: rows.JobTask, axle: int, step: Step, *, by: str, at: datetime) -> dict[str, Any]:
        record = step.torque[0]
        wrench = _WRENCHES[axle % len(_WRENCHES)]
        final = str(Quantity((record.low.value + record.high.value) / 2, record.low.unit))
        lubrication = "dry" if record.lubrication == LUBRICATION_OPEN else record.lubrication
        self.torques.append(
            rows.TorqueRecord(
                job=entry.job,
                axle=axle,
                side=step.side or "",
                wrench=self.workshop.tools[wrench],
                final=final,
                band={
                    "record": record.key,
                    "low": str(record.low),
                    "high": str(record.high),
                    "lubrication": lubrication,
                    "source": record.source,
                    "basis": record.basis,
                },
                studs=len(step.order),
                **self.workshop.books.stamp(by, at),
            )
        )
        return {"record": record.key, "wrench": wrench, "value": final, "lubrication": lubrication}


def _entries(step: Step, task: Task) -> Iterator[dict[str, Any]]:
    """Give what a hold point has measured that is no reading of the after-work walk-around."""
    for measurement in step.hold.measurements if step.hold is not None else ():
        if measurement.is_reading:
            continue
        yield {"kind": measurement.kind, "value": _value(measurement, step, task), "place": measurement.place}


def _value(measurement: Measurement, step: Step, task: Task) -> str:
    if measurement.kind == "reservoir":
        return _SYSTEM_PRESSURE
    as_found, free, again = task.found
    if measurement.kind == "free_stroke":
        return free
    return again if "again" in step.key else as_found


def _brief(job: Job, judged: Judged, at: datetime) -> dict[str, Any]:
    """Return what is sealed of a job whose steps are not entered: a benchmark's."""
    return {
        "job": job.number,
        "unit": job.unit,
        "tasks": [{"procedure": one.procedure, "axle": one.axle, "sides": list(one.sides)} for one in job.tasks],
        "proof": {"file": judged.inputs, "edition": judged.edition, "outcome": judged.outcome},
        "released": {"by": LEAD, "at": at.isoformat()},
    }


def _enter_rechecks(workshop: Workshop, re_checks: Iterable[ReCheck], jobs: dict[str, rows.Job]) -> None:
    books = workshop.books
    due, done = [], []
    for one in re_checks:
        row = rows.ReCheck(
            job=jobs[one.job],
            unit=books.units[one.unit],
            ends=[{"axle": axle, "side": side} for axle, side in one.ends],
            strokes=one.strokes,
            due_from=one.due_from,
            due_by=one.due_by,
            due_on=date.fromisoformat(one.due_on),
            done_at=one.done_at,
            **books.stamp(LEAD, one.set_at),
        )
        due.append(row)
        if one.done_at is None:
            continue
        done.append(
            rows.ReCheckRecord(
                re_check=row,
                done_at=one.done_at,
                done_by=one.done_by,
                outside_shop=one.outside_shop,
                meter=one.meter,
                wheels=_wheels(workshop, one),
                walk_around_id=one.walk_around,
                **books.stamp(one.done_by, one.done_at),
            )
        )
    insert(due)
    insert(done)


def _wheels(workshop: Workshop, one: ReCheck) -> list[dict[str, Any]]:
    """Return the nuts checked at each wheel; those that moved were at the first."""
    facts = workshop.facts(one.unit)
    return [
        {
            "axle": axle,
            "side": side,
            "nuts": facts[axle].studs or 10,
            "moved": one.moved if place == 0 else 0,
            "torque": "475 lbf·ft",
            "wrench": "" if one.outside_shop else _WRENCHES[axle % len(_WRENCHES)],
        }
        for place, (axle, side) in enumerate(one.ends)
    ]
