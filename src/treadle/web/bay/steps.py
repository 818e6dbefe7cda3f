"""Doing a job: each step is written down once it is done, and a hold point refuses what it lacks."""

from __future__ import annotations

import uuid
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from treadle.errors import BadInput, Problem
from treadle.procedures import PHASES, Missing, Step, shipped, what_is_missing
from treadle.procedures.model import LUBRICATION_OPEN
from treadle.web.bay.jobs import check_on_job
from treadle.web.bay.models import Job, JobTask, StepRecord, Tool, TorqueRecord
from treadle.web.bay.to_core import drum_nominals, proof_readings, record_of_step, steps_of_job
from treadle.web.people.models import Person, Role
from treadle.web.units.models import FittedPart
from treadle.web.walkaround import enter
from treadle.web.walkaround.models import Reading, WalkAround
from treadle.web.walkaround.to_core import of_what_is_fitted


@dataclass(frozen=True, slots=True)
class StepState:
    """A step of a job: what was written down of it and what its hold point still lacks."""

    task: JobTask
    step: Step
    row: StepRecord | None
    missing: tuple[Missing, ...]
    readings: tuple[Reading, ...] = ()
    """The after-work readings that count for its hold point."""

    @property
    def done(self) -> bool:
        """Whether it was written down and its hold point lacks nothing, or the lead passed over it."""
        return self.row is not None and (not self.missing or bool(self.row.passed_over_because))


def states_of(job: Job) -> list[StepState]:
    """Return every step of a job in the order of the work, with how it stands.

    Tasks on one axle are worked through together, phase by phase: a drum is replaced while the reline has the brake
    open.  A step that two of them have is one act and stands once, in the first.  A search for a cause comes before
    whatever takes the brake apart.
    """
    rows, counting = _rows(job), _Counting(job)
    return [_state(task, step, rows.get((task.axle, step.id)), counting) for task, step in in_order(steps_of_job(job))]


def in_order(tasks: Sequence[tuple[JobTask, Sequence[Step]]]) -> list[tuple[JobTask, Step]]:
    """Return the steps of all tasks of a job in the order of the work, each act on an axle once."""
    together: dict[tuple[int | None, bool], list[tuple[JobTask, Step]]] = {}
    for task, steps in tasks:
        taken_apart = shipped()[task.procedure].proves
        together.setdefault((task.axle, taken_apart), []).extend((task, step) for step in steps)
    found: dict[tuple[int | None, str], tuple[JobTask, Step]] = {}
    for axle, taken_apart in sorted(together, key=lambda one: one[1]):
        for task, step in sorted(together[axle, taken_apart], key=lambda one: PHASES.index(one[1].phase)):
            found.setdefault((axle, step.id), (task, step))
    return list(found.values())


def _rows(job: Job) -> dict[tuple[int | None, str], StepRecord]:
    """Return the record that stands of each step, by axle and step: the last, of those that correct one another."""
    rows = StepRecord.objects.filter(task__job=job).select_related("task", "entered_by", "second")
    return {(row.task.axle, row.step): row for row in rows.order_by("entered_at")}


class _Counting:
    """The after-work readings of a job that speak of what was fitted at a moment: none of a part since replaced."""

    def __init__(self, job: Job) -> None:
        self.unit = job.unit
        self.readings = proof_readings(proof_of(job))
        self.nominals = drum_nominals(job.unit)
        fitted = FittedPart.objects.filter(unit=job.unit, fitted_in=job.number)
        self.changes = sorted(fitted.values_list("fitted_at", flat=True))
        self.counted: dict[int, list[Reading]] = {}

    def at(self, moment: datetime | None) -> list[Reading]:
        """Return those that count at a moment, now if None; between two fittings they are the same."""
        changes = len(self.changes) if moment is None else bisect_right(self.changes, moment)
        if changes not in self.counted:
            self.counted[changes] = of_what_is_fitted(self.readings, [self.unit], moment)
        return self.counted[changes]


def _state(task: JobTask, step: Step, row: StepRecord | None, counting: _Counting) -> StepState:
    measures = step.hold is not None and any(one.is_reading for one in step.hold.measurements)
    readings = counting.at(None if row is None else row.done_at) if measures else []
    missing = what_is_missing(step, record_of_step(step, row, readings, axle=task.axle, nominals=counting.nominals))
    return StepState(task, step, row, missing, tuple(readings))


def proof_of(job: Job) -> WalkAround | None:
    """Return the after-work walk-around of a job; None before it is begun."""
    walks = WalkAround.objects.filter(for_job=job.number, abandoned_at=None)
    return walks.order_by("-begun_at").first()  # type: ignore[no-any-return]


def ends_touched(job: Job) -> list[dict[str, Any]]:
    """Return the wheel ends a job proves, as the walk-around file names them; opened where the wheels come off.

    A search for a cause repairs nothing and proves nothing, so it touches none.
    """
    opened: dict[tuple[int, str], bool] = {}
    for task in job.tasks.all():
        if task.axle is not None and shipped()[task.procedure].proves:
            for side in task.sides:
                opened[task.axle, side] = opened.get((task.axle, side), False) or shipped()[task.procedure].wheels_off
    return [
        {"unit": job.unit.number, "axle": axle, "side": side, "opened": opened[axle, side]}
        for axle, side in sorted(opened)
    ]


def ends_of(job: Job) -> list[tuple[int, str]]:
    """Return the wheel ends of every task of a job, as axle and side."""
    return sorted({(task.axle, side) for task in job.tasks.all() if task.axle is not None for side in task.sides})


@transaction.atomic
def begin_proof(job: Job, *, by: Person, at: datetime, zone: str) -> WalkAround:
    """Begin the after-work walk-around of a job's wheel ends, or return the one begun.

    One that was finished is taken up again as long as the job is under way: there is one proof, judged as a whole.

    Raises
    ------
    BadInput
        The job only finds a cause, so there is nothing to prove.
    """
    if not ends_touched(job):
        raise BadInput(Problem("nothing_to_prove", job.number))
    begun = proof_of(job)
    if begun is not None:
        _take_up_again(begun, job)
        return begun
    taken = enter.begin(
        uuid.uuid4(),
        occasion="after_work",
        unit=job.unit,
        at=at,
        zone=zone,
        by=by,
        alone=True,
        touched=ends_touched(job),
        for_job=job.number,
    )
    assert isinstance(taken.row, WalkAround)  # noqa: S101 - begin gives a walk-around
    return taken.row


def _take_up_again(walk: WalkAround, job: Job) -> None:
    """Open a finished proof again, with the wheel ends that the job works on by now."""
    if job.state != Job.State.UNDER_WAY:
        return
    walk.finished_at, walk.touched = None, ends_touched(job)
    walk.save(update_fields=["finished_at", "touched"])


@transaction.atomic
def write_down(
    job: Job,
    task: JobTask,
    step: Step,
    *,
    record_id: uuid.UUID,
    by: Person,
    at: datetime,
    confirmed: bool = False,
    second: Person | None = None,
    entries: Iterable[Mapping[str, Any]] = (),
    torque: Mapping[str, Any] | None = None,
    note: str = "",
    passed_over_because: str = "",
    corrects: StepRecord | None = None,
    why_corrected: str = "",
) -> StepRecord:
    """Write down a step as done.

    Parameters
    ----------
    job : Job
        The job, under way.
    task : JobTask
        Its task.
    step : Step
        The step of that task.
    record_id : UUID
        Made where it was entered; the same one is written once.
    by : Person
        Who did it.
    at : datetime
        When.
    confirmed : bool, optional
        Whether what the hold point asks to be confirmed is so.
    second : Person, optional
        Who looked a second time.
    entries : iterable of mapping, optional
        What was measured that no walk-around holds.
    torque : mapping, optional
        ``record``, ``wrench`` (its number), ``value`` and ``lubrication``.
    note : str, optional
        Anything else.
    passed_over_because : str, optional
        The lead's reason for not doing it; a hold point cannot be passed over.
    corrects : StepRecord, optional
        An earlier record that was wrong.
    why_corrected : str, optional
        Why it was.

    Raises
    ------
    AlreadyWritten
        Somebody wrote the step down meanwhile, and this does not correct it.
    BadInput
        The job is not under way, whoever did it is not on it, the hold point lacks something, one before it does, or
        the step is passed over by somebody who may not.
    """
    job = Job.objects.select_for_update().get(pk=job.pk)
    known = StepRecord.objects.filter(pk=record_id).first()
    if known is not None:
        return known  # type: ignore[no-any-return]
    if job.state != Job.State.UNDER_WAY:
        raise BadInput(Problem("job_not_under_way", job.number))
    check_on_job(job, by)
    _check_place(job, task, step, corrects, why_corrected)
    if second is not None and not second.may(Role.TECHNICIAN, Role.LEAD):
        raise BadInput(Problem("second_may_not", job.number, {"who": second.name}))
    if passed_over_because:
        _check_passing_over(job, step, by)
    row = StepRecord(
        id=record_id,
        task=task,
        step=step.id,
        side=step.side or "",
        done_at=at,
        confirmed=confirmed,
        measured={"entries": [dict(entry) for entry in entries], **({"torque": dict(torque)} if torque else {})},
        second=second,
        passed_over_because=passed_over_because,
        note=note,
        corrects=corrects,
        why_corrected=why_corrected,
        entered_by=by,
        entered_zone=job.shop.zone,
    )
    if not passed_over_because:
        missing = _state(task, step, row, _Counting(job)).missing
        if missing:
            raise HoldPointLacks(missing, job.number)
    row.save()
    if torque and not passed_over_because:
        _keep_torque(row, job, task, step, torque)
    return row


def _check_place(job: Job, task: JobTask, step: Step, corrects: StepRecord | None, why_corrected: str) -> None:
    """Refuse a second record of a step that does not correct the first, and one past a hold point not passed."""
    states = states_of(job)
    here = next((one for one in states if (one.task.axle, one.step.id) == (task.axle, step.id)), None)
    stands = None if here is None else here.row
    if stands is not None and (corrects is None or corrects.pk != stands.pk):
        raise AlreadyWritten(stands, job.number)
    if corrects is not None and not why_corrected:
        raise BadInput(Problem("no_reason", job.number))
    barrier = None if here is None or stands is not None else barrier_before(states, here)
    if barrier is not None:
        raise HoldPointOpen(barrier, job.number)


def barrier_before(states: Sequence[StepState], here: StepState) -> StepState | None:
    """Return the first hold point before a step that is not passed and is of the same axle and end; None if all are.

    Two people may work on two ends at once, so a hold point of the other end keeps nobody back, except from what is
    done for both ends together.
    """
    for state in states:
        if state is here:
            return None
        same_axle = state.task.axle == here.task.axle
        same_end = state.step.side is None or here.step.side is None or state.step.side == here.step.side
        if state.step.hold is not None and not state.done and same_axle and same_end:
            return state
    return None


class AlreadyWritten(BadInput):
    """A step was written down by somebody else meanwhile; `row` is what they wrote."""

    def __init__(self, row: StepRecord, where: str) -> None:
        """Keep what stands."""
        self.row = row
        super().__init__(Problem("step_written", where, {"who": row.entered_by.name}))


class HoldPointOpen(BadInput):
    """A hold point before this step is not passed; `barrier` is it."""

    def __init__(self, barrier: StepState, where: str) -> None:
        """Keep the hold point."""
        self.barrier = barrier
        super().__init__(Problem("hold_point_open", where, {"number": barrier.step.number}))


class HoldPointLacks(BadInput):
    """A hold point was to be written down without what it asks for; `missing` says what."""

    def __init__(self, missing: tuple[Missing, ...], where: str) -> None:
        """Keep what is missing."""
        self.missing = missing
        super().__init__(Problem("hold_point", where, {"code": one.code}) for one in missing)


def _check_passing_over(job: Job, step: Step, by: Person) -> None:
    if step.hold is not None:
        raise BadInput(Problem("hold_point_passed_over", job.number))
    if not by.may(Role.LEAD):
        raise BadInput(Problem("lead_only", job.number))


def _keep_torque(row: StepRecord, job: Job, task: JobTask, step: Step, torque: Mapping[str, Any]) -> None:
    """Keep the torque that goes with a step record, under the same id: what corrects the one replaces the other."""
    wrench, due = wrench_for(torque["wrench"], job, row.done_at)
    record = next(one for one in step.torque if one.key == torque["record"])
    said = torque.get("lubrication") if record.lubrication == LUBRICATION_OPEN else None
    TorqueRecord(
        id=row.pk,
        job=job,
        axle=task.axle or 0,
        side=step.side or "",
        wrench=wrench,
        final=str(torque["value"]),
        stages=list(torque.get("stages", ())),
        band={
            "record": record.key,
            "low": str(record.low),
            "high": str(record.high),
            "lubrication": said or record.lubrication,
            "source": record.source,
            "basis": record.basis,
            "calibration_due_on": due.isoformat(),
        },
        studs=len(step.order),
        entered_by=row.entered_by,
        entered_zone=job.shop.zone,
    ).save()


def wrench_for(number: str, job: Job, at: datetime) -> tuple[Tool, date]:
    """Return the torque wrench of a number, in use and in calibration on the day, and when that is due.

    Raises
    ------
    BadInput
        There is none, or nobody has recorded its calibration, or that was due before.
    """
    found: Tool | None = Tool.objects.filter(number=number, kind=Tool.Kind.TORQUE_WRENCH, retired_at=None).first()
    if found is None:
        raise BadInput(Problem("unknown_tool", job.number, {"given": number}))
    due: date | None = found.calibration_due_on
    if due is None:
        raise BadInput(Problem("calibration_unknown", job.number, {"tool": found.number}))
    if due < at.astimezone(ZoneInfo(job.shop.zone)).date():
        raise BadInput(Problem("calibration_overdue", job.number, {"tool": found.number, "due": due.isoformat()}))
    return found, due


def torques_of(job: Job) -> list[TorqueRecord]:
    """Return the torques of a job that stand, in the order they were done."""
    stands = [row.pk for row in _rows(job).values()]
    rows = TorqueRecord.objects.filter(job=job, pk__in=stands).select_related("wrench", "entered_by")
    return list(rows.order_by("entered_at"))
