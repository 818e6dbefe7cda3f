"""The line of one brake job, walked by tests through the same functions the pages call; a helper."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

from treadle.procedures import shipped
from treadle.web.bay import fitting, jobs, steps
from treadle.web.bay.models import Tool
from treadle.web.people.models import Qualification
from treadle.web.units.models import FittedPart
from treadle.web.units.register import FirstMeter, register
from treadle.web.walkaround import enter
from treadle.web.walkaround.judge import finish

ZONE = "America/Denver"
NOW = datetime(2026, 10, 2, 13, 40, tzinfo=UTC)
SIDES = ("left", "right")
CIRCUMSTANCES = {"reservoir": "95 psi", "engine": "off", "spring_brakes": "released"}


def qualified(person, on=None):
    """Give a person the evidence that 49 CFR 396.25 asks for."""
    Qualification.objects.create(
        person=person,
        for_what=Qualification.ForWhat.BRAKES,
        evidence="Two years of brake work in this shop, signed by the owner.",
        granted_on=on or (NOW - timedelta(days=400)).date(),
    )
    return person


def tractor(by, number="K-12", *, at=None, meter=True):
    """Register a 3-axle tractor whose layout is that of the shop's tractors."""
    return register(
        number=number,
        layout="tractor_3_drum",
        built="2019-03",
        runs_in=["us"],
        by=by,
        at=at or NOW - timedelta(days=400),
        suspension="air",
        meter=FirstMeter("412000") if meter else None,
    )


def trailer(by, number="T-7", *, at=None):
    """Register a tandem trailer without a meter."""
    return register(
        number=number,
        layout="trailer_tandem_drum",
        built="2016-08",
        runs_in=["us"],
        by=by,
        at=at or NOW - timedelta(days=400),
    )


def walk(unit, by, shop, *, at=NOW, occasion="service", strokes=None, linings=None, alone=False, minutes=30):
    """Go round a unit and what it is coupled to: all within, but for the strokes and linings given by axle and side."""
    begun = enter.begin(
        uuid.uuid4(),
        occasion=occasion,
        unit=unit,
        at=at,
        zone=ZONE,
        by=by,
        alone=alone,
        circumstances=CIRCUMSTANCES,
    ).row
    for walked in begun.walked.select_related("unit"):
        for axle in walked.unit.axles.all():
            for side in SIDES:
                key = (walked.unit.number, axle.number, side)
                stroke = (strokes or {}).get(key, "1 1/2 in")
                lining = (linings or {}).get(key, "1/2 in")
                measure_end(begun, (walked.unit, axle.number, side), by, shop, at=at, stroke=stroke, lining=lining)
    return begun, finish(begun, shop=shop, by=by, at=at + timedelta(minutes=minutes))


def measure_end(begun, end, by, shop, *, at, stroke="1 1/2 in", lining="1/2 in", free=None, drum=None):
    """Enter what a service walk-around asks of one wheel end, and more where it is given."""
    unit, axle, side = end
    here = {"unit": unit.number, "axle": axle, "side": side}
    read(begun, by, shop, at=at, **here, kind="applied_stroke", value=stroke, **CIRCUMSTANCES)
    for shoe in ("upper", "lower"):
        for place in ("centre", "thinnest"):
            read(begun, by, shop, at=at, **here, kind="lining", shoe=shoe, place=place, value=lining)
    read(begun, by, shop, at=at, **here, kind="condition", value="none_seen")
    if free is not None:
        read(begun, by, shop, at=at, **here, kind="free_stroke", value=free)
    for place in () if drum is None else range(4):
        read(begun, by, shop, at=at + timedelta(seconds=place), **here, kind="drum_diameter", value=drum)


def read(begun, by, shop, *, at, **fields):
    """Enter one reading, as a phone would."""
    entry = {"id": str(uuid.uuid4()), "walk_around": str(begun.pk), "at": at.isoformat(), "zone": ZONE, **fields}
    return enter.take(entry, by=by, sent_by=None, shop=shop, now=at + timedelta(hours=1)).row


def entries_for(step):
    """Return what a hold point asks to be entered with the step itself: what no reading of a walk-around holds."""
    if step.hold is None:
        return []
    wanted = [one for one in step.hold.measurements if not one.is_reading]
    return [
        {"kind": one.kind, "value": "110 psi" if one.dimension == "pressure" else "1 in", "place": one.place}
        for one in wanted
        for _ in range(one.count)
    ]


def torque_for(step, wrench):
    """Return a final torque in the middle of the band of the step's first record; nothing where none is asked."""
    if step.hold is None or "torque" not in step.hold.kinds:
        return None
    record = step.torque[0]
    middle = (record.low.value + record.high.value) / 2
    return {
        "record": record.key,
        "wrench": wrench,
        "value": f"{middle} {record.low.unit}",
        "lubrication": "as the record says",
    }


def wrench(number="TW-2"):
    """A torque wrench in calibration."""
    return Tool.objects.create(
        number=number,
        kind=Tool.Kind.TORQUE_WRENCH,
        calibrated_on=(NOW - timedelta(days=30)).date(),
        calibration_due_on=(NOW + timedelta(days=335)).date(),
    )


def write_down(job, state, by, second, *, at, tool):
    """Write down one step with all that its hold point asks for."""
    step = state.step
    wants_second = step.hold is not None and "second_person" in step.hold.kinds
    return steps.write_down(
        job,
        state.task,
        step,
        record_id=uuid.uuid4(),
        by=by,
        at=at,
        confirmed=step.hold is not None,
        second=second if wants_second else None,
        entries=entries_for(step),
        torque=torque_for(step, tool),
        note="A worn bushing." if step.hold is not None and "note" in step.hold.kinds else "",
    )


def measure_after_work(job, by, shop, at, *, stroke="1 3/8 in"):
    """Take the after-work readings of every end a job touches, and of the unit."""
    proof = steps.begin_proof(job, by=by, at=at, zone=ZONE)
    for end in steps.ends_touched(job):
        place = (job.unit, end["axle"], end["side"])
        sizes = {"stroke": stroke, "lining": "23/32 in", "free": "1/2 in", "drum": "+.020 in"}
        measure_end(proof, place, by, shop, at=at, **sizes)
    whole = {"unit": job.unit.number}
    leak = {"kind": "air_loss", "state": "applied", "start": "100 psi", "end": "99 psi", "seconds": 60}
    read(proof, by, shop, at=at, **whole, **leak, **CIRCUMSTANCES)
    read(proof, by, shop, at=at, **whole, kind="parking_hold", value="held")
    return proof


def fit_what_is_due(job, by, at):
    """Record every part the job's procedures fit anew, like the one before but for its lot."""
    for task, side, slot in fitting.still_to_record(job):
        before = FittedPart.objects.filter(unit=job.unit, axle=task.axle, side=side, slot=slot, removed_at=None).first()
        spec = {"kit": "axle set"} if slot == "hardware" else before.spec
        fitting.record_part(
            job, axle=task.axle, side=side, slot=slot, spec=spec, lot="LOT-4411", at=at, by=by, why="worn"
        )


def reline_job(unit, by, axle=2):
    """Open and accept the reline of an axle."""
    job = jobs.open_job(unit, [{"procedure": "scam_reline", "axle": axle, "sides": list(SIDES), "why": []}], by=by)
    assert "scam_reline" in shipped()
    return job
