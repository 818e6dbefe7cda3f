"""What a job fitted: each part ends the interval of the one before it, and a new lining begins a new cycle there."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from treadle.errors import BadInput, Problem
from treadle.web.bay.models import Job, JobTask
from treadle.web.people.models import Person
from treadle.web.units.fit import fit
from treadle.web.units.meters import last_shown
from treadle.web.units.models import FittedPart

REPLACES = {
    "scam_reline": ("lining", "hardware"),
    "drum_replacement": ("drum",),
    "chamber_replacement": ("chamber",),
    "adjuster_replacement": ("adjuster",),
    "find_overstroke_cause": (),
}
"""The slots each procedure fits anew at every end it is done on."""
OTHERS = ("lining", "hardware", "drum", "chamber", "adjuster", "wheel")
"""What a job may fit besides, where the work showed that it was needed."""


def still_to_record(job: Job) -> list[tuple[JobTask, str, str]]:
    """Return what the job's procedures fit anew and nobody has recorded: task, side, slot."""
    fitted = {(part.axle, part.side, part.slot) for part in parts_of(job)}
    return [
        (task, side, slot)
        for task in job.tasks.all()
        for side in task.sides
        for slot in REPLACES.get(task.procedure, ())
        if (task.axle, side, slot) not in fitted
    ]


def parts_of(job: Job) -> list[FittedPart]:
    """Return the parts a job fitted."""
    return list(FittedPart.objects.filter(unit=job.unit, fitted_in=job.number).order_by("axle", "side", "slot"))


@transaction.atomic
def record_part(
    job: Job,
    *,
    axle: int,
    side: str,
    slot: str,
    spec: Mapping[str, Any],
    lot: str,
    at: datetime,
    by: Person,
    why: str,
) -> FittedPart:
    """Record a part that a job fitted, with its lot code, at the distance the unit shows now.

    Raises
    ------
    BadInput
        The job is not under way, the slot is not one a job fits, or the specification cannot be used.
    """
    if job.state != Job.State.UNDER_WAY:
        raise BadInput(Problem("job_not_under_way", job.number))
    if slot not in OTHERS:
        raise BadInput(Problem("word_not_allowed", "slot", {"given": slot, "allowed": ", ".join(OTHERS)}))
    shown = last_shown(job.unit)
    return fit(
        job.unit,
        axle=axle,
        side=side,
        slot=slot,
        spec=spec,
        at=at,
        by=by,
        lot=lot,
        meter="" if shown is None else shown.text,
        job=job.number,
        why=why,
    )
