"""Opening a job from what planning proposes: what was ticked, what was added by hand, and the assessment behind it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from treadle.errors import BadInput, Problem
from treadle.fleet.records import SIDES
from treadle.planning import Task, propose
from treadle.web.bay.jobs import hours_by_procedure, open_job
from treadle.web.bay.models import Job
from treadle.web.bay.proposal_json import findings_as_json, proposal_as_json
from treadle.web.bay.to_core import facts_of
from treadle.web.people.models import Person
from treadle.web.units.models import Unit
from treadle.web.walkaround.judge import judge_as_last_seen, keep
from treadle.web.walkaround.models import DriverReport, Judged


@dataclass(frozen=True, slots=True)
class ByHand:
    """A procedure on an axle that somebody added beside what was proposed."""

    procedure: str
    axle: int
    sides: tuple[str, ...] = SIDES


@transaction.atomic
def open_proposed(
    unit: Unit,
    ids: Collection[str],
    *,
    by: Person,
    at: datetime,
    by_hand: Sequence[ByHand] = (),
    report: DriverReport | None = None,
    note: str = "",
) -> Job:
    """Open a job of the proposed tasks that were ticked and of those added by hand, with the assessment behind it.

    Parameters
    ----------
    unit : Unit
        The unit.
    ids : collection of str
        The proposed tasks that were ticked, by their ids.
    by : Person
        Who opens it.
    at : datetime
        The moment, with its zone.
    by_hand : sequence of ByHand
        Procedures added by hand.
    report : DriverReport, optional
        The driver's report that led to it.
    note : str
        Anything else.

    Raises
    ------
    BadInput
        Nothing was ticked or added, what was ticked is no longer proposed, or a procedure or axle nobody knows.
    """
    file, record, assessment = judge_as_last_seen([unit], unit.shop, at=at, by=by)
    proposal = propose(assessment, record, unit.number, facts=facts_of(unit), history=hours_by_procedure())
    proposed = {task.id: task for task in proposal.tasks}
    if any(one not in proposed for one in ids):
        raise BadInput(Problem("proposal_changed", unit.number))
    added = [_added(one) for one in by_hand if f"{one.procedure}/{one.axle}" not in ids]
    tasks = [*(_ticked(task) for task in proposal.tasks if task.id in ids), *added]
    judged = keep(Judged.About.AS_LAST_SEEN, file, assessment, [unit], shop=unit.shop, by=by) if tasks else None
    return open_job(
        unit, tasks, by=by, proposal=proposal_as_json(proposal), from_judged=judged, from_report=report, note=note
    )


def _ticked(task: Task) -> dict[str, Any]:
    return {
        "procedure": task.procedure,
        "axle": task.axle,
        "sides": list(task.sides),
        "why": findings_as_json(task.because),
    }


def _added(one: ByHand) -> dict[str, Any]:
    return {"procedure": one.procedure, "axle": one.axle, "sides": list(one.sides), "why": []}
