"""Re-checks after the first miles: recordable from the road, by a driver or another shop."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any, Literal
from zoneinfo import ZoneInfo

from django.core.files.base import File
from django.db import transaction

from treadle.errors import BadInput, Problem
from treadle.measure import Quantity, read_quantity
from treadle.measure.units import convert
from treadle.procedures import Figure, shipped
from treadle.web.bay.models import Job, ReCheck, ReCheckRecord, Tool, TorqueRecord
from treadle.web.people.models import Person
from treadle.web.units.distance import pulled_distance
from treadle.web.units.meters import last_shown, note_meter, running_meter
from treadle.web.walkaround.models import Reading, WalkAround
from treadle.web.walkaround.to_core import standing

RE_CHECK_DAYS = 14
"""Days after which a re-check not reported is asked for, whatever the distance (chosen)."""
_STROKES = ("applied_stroke", "rod_applied")


@cache
def re_check_figure() -> Figure:
    """Return the distance after which wheels are checked again, with where it is written."""
    figures = (one for procedure in shipped().values() for plan in procedure.plans for one in plan.figures)
    return next(figure for figure in figures if figure.key == "recheck")


def re_check_miles() -> tuple[int, int]:
    """Return that distance, from and to [mi]."""
    figure = re_check_figure()
    assert figure.high is not None  # noqa: S101 - a distance from and to, as the data has it
    return int(figure.low.in_unit("mi")), int(figure.high.in_unit("mi"))


# -- asking for one


def ask_for_re_check(job: Job, ends: Sequence[tuple[int, str]], *, by: Person, at: datetime) -> ReCheck | None:
    """Ask for the re-check of a released job: of the wheels that were off, and of the strokes of new linings."""
    if not ends:
        return None
    relined = any(task.procedure == "scam_reline" for task in job.tasks.all())
    return _ask(job, [{"axle": axle, "side": side} for axle, side in ends], strokes=relined, by=by, at=at)


def _ask(job: Job, ends: list[dict[str, Any]], *, strokes: bool, by: Person, at: datetime) -> ReCheck:
    low, high = re_check_miles()
    shown = last_shown(job.unit)
    row = ReCheck(
        job=job,
        unit=job.unit,
        ends=ends,
        strokes=strokes,
        due_from="" if shown is None else _further(shown.reading, low),
        due_by="" if shown is None else _further(shown.reading, high),
        miles_from=low,
        miles_by=high,
        due_on=(at.astimezone(ZoneInfo(job.shop.zone)) + timedelta(days=RE_CHECK_DAYS)).date(),
        entered_by=by,
        entered_at=at,
        entered_zone=job.shop.zone,
    )
    row.save()
    return row


def _further(shown: Quantity, miles: int) -> str:
    """Return what a meter shows some miles on, in its own measure, no finer than it reads."""
    further = convert(shown.in_unit("mi") + miles, "mi", shown.unit)
    return f"{round(further)} {shown.unit}"


# -- how it stands


@dataclass(frozen=True, slots=True)
class Due:
    """How a re-check stands: not yet to be done, due now, or overdue; and how far the unit has gone since, if known."""

    re_check: ReCheck
    state: Literal["waiting", "due", "overdue"]
    gone: Quantity | None
    wheels: bool
    """Whether the wheels are still to be checked."""
    strokes: bool
    """Whether the strokes are still to be taken again."""


def how_due(re_check: ReCheck, *, at: datetime) -> Due:
    """Return how a re-check stands at a moment, by the unit's meter or what pulled it, and by the day."""
    gone = _gone_since(re_check, at)
    miles = None if gone is None else gone.in_unit("mi")
    late = at.astimezone(ZoneInfo(re_check.shop.zone)).date() > re_check.due_on
    if late or (miles is not None and miles > re_check.miles_by):
        state: Literal["waiting", "due", "overdue"] = "overdue"
    elif miles is None or miles >= re_check.miles_from:
        state = "due"
    else:
        state = "waiting"
    return Due(re_check, state, gone, wheels=not wheels_checked(re_check), strokes=strokes_due(re_check))


def _gone_since(re_check: ReCheck, at: datetime) -> Quantity | None:
    """Return how far the unit went since the re-check was asked for; None where nothing tells."""
    shown = last_shown(re_check.unit)
    if shown is None:
        pulled = pulled_distance(re_check.unit, since=re_check.entered_at, until=at, measure="mi")
        return None if pulled is None else pulled.quantity
    if not re_check.due_from:
        return None
    began = read_quantity(re_check.due_from, "length", where="due_from").in_unit("mi") - re_check.miles_from
    gone = shown.reading.in_unit("mi") - began
    return None if gone < 0 else read_quantity(f"{round(gone)} mi", "length", where="meter")


def wheels_checked(re_check: ReCheck) -> bool:
    """Whether every wheel that was due has been checked."""
    rows = [row for record in re_check.records.all() for row in record.wheels]
    return all(any(_same_end(end, row) for row in rows) for end in re_check.ends)


def strokes_due(re_check: ReCheck) -> bool:
    """Whether strokes are to be taken again: linings were new, and no record has a walk-around with them yet."""
    return re_check.strokes and not any(record.walk_around_id is not None for record in re_check.records.all())


def last_day(re_checks: Iterable[ReCheck]) -> date | None:
    """Return the first of the last days of some re-checks; None where there are none."""
    return min((one.due_on for one in re_checks), default=None)


def strokes_taken(re_check: ReCheck) -> WalkAround | None:
    """Return the last finished walk-around since the job that has a stroke of every end that was due; None without."""
    walks = WalkAround.objects.filter(
        walked__unit=re_check.unit, finished_at__gt=re_check.entered_at, abandoned_at=None
    )
    for walk in walks.exclude(for_job=re_check.job.number).order_by("-finished_at"):
        rows = standing(Reading.objects.filter(walk_around=walk, unit=re_check.unit))
        taken = {(row.axle, row.side) for row in rows if row.kind in _STROKES and not row.doubt}
        if all((end["axle"], end["side"]) in taken for end in re_check.ends):
            return walk  # type: ignore[no-any-return]
    return None


# -- recording one


@transaction.atomic
def record_re_check(
    re_check: ReCheck,
    *,
    record_id: uuid.UUID,
    done_at: datetime,
    done_by: str,
    by: Person,
    wheels: Iterable[Mapping[str, Any]],
    meter: str = "",
    outside_shop: str = "",
    walk_around: WalkAround | None = None,
    note: str = "",
    photo: File[bytes] | None = None,
) -> ReCheckRecord:
    """Record a re-check as done: of the wheels, of the strokes, or of both.

    It stays due until both are recorded; a driver or another shop may check the wheels on the road, and the strokes
    follow here.  Where a nut moved, the wheels of that end are asked for once more.

    Parameters
    ----------
    re_check : ReCheck
        What was due.
    record_id : UUID
        Made where it was entered; the same one is taken once.
    done_at, done_by : datetime, str
        When, and the name of whoever put the wrench on.
    by : Person
        Who enters it.
    wheels : iterable of mapping
        For each end: ``axle``, ``side``, ``nuts`` checked, ``moved`` how many turned, ``torque`` and ``wrench``;
        none where they were recorded before and only the strokes are new.
    meter : str, optional
        What the unit's meter showed.
    outside_shop : str, optional
        Its name, where another shop did it.
    walk_around : WalkAround, optional
        With the strokes taken again, where linings were new.
    note, photo : optional
        Anything else.

    Raises
    ------
    BadInput
        An end that was due is not among the wheels, more nuts moved than were checked, or a torque or meter cannot be
        read.
    """
    known = ReCheckRecord.objects.filter(pk=record_id).first()
    if known is not None:
        return known  # type: ignore[no-any-return]
    rows = [_wheel(re_check, wheel) for wheel in wheels]
    if not outside_shop:
        for row in rows:
            _check_wrench(row["wrench"], at=done_at, where=re_check.unit.number)
    if rows or not wheels_checked(re_check):
        _check_every_end(re_check, rows)
    shown = ""
    if meter and running_meter(re_check.unit) is not None:
        shown = note_meter(re_check.unit, meter, at=done_at, by=by).reading
    record = ReCheckRecord(
        id=record_id,
        re_check=re_check,
        done_at=done_at,
        done_by=done_by,
        outside_shop=outside_shop,
        meter=shown or meter,
        wheels=rows,
        walk_around=walk_around,
        note=note,
        entered_by=by,
        entered_zone=re_check.shop.zone,
    )
    if photo is not None:
        record.photo.save(photo.name or "re-check.jpg", photo, save=False)
    record.save()
    _settle(re_check, rows, by=by, at=done_at)
    return record


def _settle(re_check: ReCheck, rows: Iterable[Mapping[str, Any]], *, by: Person, at: datetime) -> None:
    """Close the re-check once all of it is recorded; ask again for the wheels of which a nut moved."""
    as_kept = ReCheck.objects.get(pk=re_check.pk)  # whoever asked may hold the records as they were before
    if wheels_checked(as_kept) and not strokes_due(as_kept):
        re_check.done_at = at
        re_check.save(update_fields=["done_at"])
    moved = [{"axle": row["axle"], "side": row["side"]} for row in rows if row["moved"]]
    if moved:
        _ask(re_check.job, moved, strokes=False, by=by, at=at)


def _check_every_end(re_check: ReCheck, rows: Sequence[Mapping[str, Any]]) -> None:
    for end in re_check.ends:
        if not any(_same_end(end, row) for row in rows):
            details = {"axle": end["axle"], "side": end["side"]}
            raise BadInput(Problem("wheel_not_checked", re_check.unit.number, details))


def _wheel(re_check: ReCheck, wheel: Mapping[str, Any]) -> dict[str, Any]:
    where = f"{re_check.unit.number}, axle {wheel['axle']}, {wheel['side']}"
    nuts, moved = int(wheel["nuts"]), int(wheel["moved"])
    if nuts < 1:
        raise BadInput(
            Problem("wheel_not_checked", re_check.unit.number, {"axle": wheel["axle"], "side": wheel["side"]})
        )
    if not 0 <= moved <= nuts:
        raise BadInput(Problem("more_moved_than_nuts", where, {"moved": moved, "nuts": nuts}))
    row = {"axle": int(wheel["axle"]), "side": wheel["side"], "nuts": nuts, "moved": moved}
    if wheel.get("torque"):
        done = read_quantity(wheel["torque"], "torque", where=where, default_unit="lbf·ft")
        _check_band(re_check, row, done, where=where)
        row["torque"] = str(done)
    row["wrench"] = wheel.get("wrench", "")
    return row


def _check_band(re_check: ReCheck, row: Mapping[str, Any], done: Quantity, *, where: str) -> None:
    """Refuse a torque outside the record that the wheel was tightened by in the job."""
    ends = TorqueRecord.objects.filter(job=re_check.job, axle=row["axle"], side__in=(row["side"], ""))
    tightened = ends.order_by("-entered_at").first()
    if tightened is None:
        return
    low, high = (read_quantity(tightened.band[name], "torque", where=where) for name in ("low", "high"))
    if not low.value <= done.in_unit(low.unit) <= high.in_unit(low.unit):
        raise BadInput(Problem("torque_outside_band", where, {"given": str(done), "low": str(low), "high": str(high)}))


def _check_wrench(number: str, *, at: datetime, where: str) -> None:
    """Refuse a wrench of the shop whose calibration was over on that day; another shop's is not on our list."""
    tool = Tool.objects.filter(number=number, kind=Tool.Kind.TORQUE_WRENCH, retired_at=None).first()
    if tool is not None and (tool.calibration_due_on is None or tool.calibration_due_on < at.date()):
        due = "–" if tool.calibration_due_on is None else tool.calibration_due_on.isoformat()
        raise BadInput(Problem("calibration_overdue", where, {"tool": number, "due": due}))


def _same_end(end: Mapping[str, Any], row: Mapping[str, Any]) -> bool:
    return (end["axle"], end["side"]) == (row["axle"], row["side"])


def id_of_strokes(re_check: ReCheck, walk: WalkAround) -> uuid.UUID:
    """Return the id of the record that a re-check's strokes were taken on a walk-around: the same for the same two."""
    return uuid.uuid5(re_check.pk, str(walk.pk))
