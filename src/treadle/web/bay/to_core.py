"""Rows of jobs become the procedures' records: the facts of an axle, the steps of a task, what was done at each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from treadle.fleet.read import DIMENSIONS
from treadle.fleet.records import Unit as UnitRecord
from treadle.measure import Quantity, read_quantity
from treadle.procedures import Entry, Facts, Step, StepRecord, TorqueDone, shipped, steps_for
from treadle.web.bay.models import Job, JobTask
from treadle.web.bay.models import StepRecord as StepRow
from treadle.web.units.models import Axle, FittedPart, Unit
from treadle.web.units.to_core import bay_facts, parts_fitted, record_of_unit
from treadle.web.walkaround.models import Reading, WalkAround
from treadle.web.walkaround.to_core import standing


def facts_of(unit: Unit) -> dict[int, Facts]:
    """Return what the bay knows of each axle of a unit, by its number."""
    parts = parts_fitted([unit.pk]).get(unit.pk, [])
    axles = Axle.objects.filter(unit=unit).order_by("number")
    return {axle.number: Facts(**bay_facts(unit, axle, parts)) for axle in axles}


def steps_of(task: JobTask, unit: UnitRecord) -> tuple[Step, ...]:
    """Return the steps of a task, with the facts it was accepted with."""
    if task.axle is None:
        return ()
    return steps_for(shipped()[task.procedure], unit, task.axle, tuple(task.sides), Facts(**task.facts))


def steps_of_job(job: Job) -> list[tuple[JobTask, tuple[Step, ...]]]:
    """Return every task of a job with its steps, in the order of the work."""
    unit = record_of_unit(job.unit)
    return [(task, steps_of(task, unit)) for task in job.tasks.all()]


Nominals = Mapping[tuple[int, str], Quantity]
"""The nominal size of drums, by axle and side."""


def record_of_step(
    step: Step, row: StepRow | None, readings: Iterable[Reading], *, axle: int | None, nominals: Nominals
) -> StepRecord:
    """Return what was written down of a step, with the after-work readings that its hold point asks for."""
    wanted = () if step.hold is None else step.hold.measurements
    kinds = {measure.kind for measure in wanted if measure.is_reading}
    taken = [
        one
        for one in readings
        if one.kind in kinds and one.axle in (axle, None) and (one.axle is None or one.side == (step.side or one.side))
    ]
    entries = [_entry_of(one, nominals) for one in taken]
    if row is None:
        return StepRecord(by="", entries=tuple(entries))
    entries += [_entry(entry) for entry in row.measured.get("entries", ())]
    return StepRecord(
        by=str(row.entered_by_id),
        entries=tuple(entries),
        confirmed=row.confirmed,
        second=None if row.second_id is None else str(row.second_id),
        torque=_torque(row.measured.get("torque")),
        note=row.note,
    )


def proof_readings(proof: WalkAround | None) -> list[Reading]:
    """Return the after-work readings of a job that stand."""
    if proof is None:
        return []
    return [row for row in standing(proof.readings.select_related("unit", "entered_by")) if not row.doubt]


def _entry_of(row: Reading, nominals: Nominals) -> Entry:
    fields = row.fields
    entry = {
        "kind": row.kind,
        "value": fields.get("value") or fields.get("end"),
        "special": fields.get("special"),
        "part": fields.get("shoe") or fields.get("pad"),
        "place": fields.get("place"),
        "state": fields.get("state"),
    }
    return _entry(entry, None if row.axle is None else nominals.get((row.axle, row.side)))


def drum_nominals(unit: Unit) -> dict[tuple[int, str], Quantity]:
    """Return the nominal size of each drum of a unit, by axle and side; a reading may be over it, as ``+.045 in``."""
    drums = FittedPart.objects.filter(unit=unit, slot=FittedPart.Slot.DRUM, removed_at=None)
    return {
        (drum.axle, drum.side): read_quantity(drum.spec["nominal"], "length", where=str(drum))
        for drum in drums
        if drum.spec.get("nominal")
    }


def _entry(entry: Mapping[str, Any], nominal: Quantity | None = None) -> Entry:
    """Return an entry with its value as a quantity where it is one, else as the word it is."""
    value = entry.get("value")
    if isinstance(value, str) and any(letter.isdigit() for letter in value):
        dimension = DIMENSIONS.get(entry["kind"], "pressure")
        value = read_quantity(value, dimension, where=entry["kind"], nominal=nominal)
    return Entry(
        kind=entry["kind"],
        value=value,
        special=entry.get("special"),
        part=entry.get("part"),
        place=entry.get("place"),
        state=entry.get("state"),
    )


def _torque(done: Mapping[str, Any] | None) -> TorqueDone | None:
    if not done:
        return None
    value = read_quantity(done["value"], "torque", where="torque", default_unit=done.get("unit"))
    return TorqueDone(
        record=done["record"], wrench=done["wrench"], value=value, lubrication=done.get("lubrication", "")
    )
