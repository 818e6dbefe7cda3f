"""What keeps a unit in besides its readings: work begun, a driver's report nobody answered, a re-check overdue.

Each question is asked for many units at once, so that a page of a whole fleet asks as often as one of a single unit.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from treadle.errors import BadInput
from treadle.fleet.records import POWER_UNITS
from treadle.measure import read_quantity
from treadle.wear import Coupling as Pulled
from treadle.wear import distance_pulled
from treadle.web.bay.jobs import STARTED
from treadle.web.bay.models import Job, ReCheck
from treadle.web.people.models import Shop
from treadle.web.units.distance import meters_of
from treadle.web.units.models import Coupling, MeterReading, MeterSegment, Unit
from treadle.web.walkaround.models import DriverReport, DriverReportAnswer

CERTIFIED = (DriverReportAnswer.What.REPAIRED, DriverReportAnswer.What.NOT_NEEDED)
"""The answers by which the carrier certifies a report (49 CFR 396.11(a)(3)); a review alone answers nothing."""
LONGEST_LINE = 6
"""Units in a line of couplings at most: a power unit and trailers with dollies between them. [units]"""


@dataclass(frozen=True, slots=True)
class Obstacle:
    """Something that keeps a combination in: `code` names the sentence under ``dispatch.obstacle``."""

    code: str
    unit: str = ""
    details: dict[str, Any] = field(default_factory=dict)


def obstacles_of(units: Sequence[Unit] | None, *, shop: Shop, at: datetime) -> list[Obstacle]:
    """Return what keeps units in besides their readings; of the whole fleet where `units` is None."""
    return [*_of_work(units), *_of_reports(units), *_of_re_checks(units, shop=shop, at=at)]


def _among(rows: QuerySet[Any], units: Sequence[Unit] | None) -> QuerySet[Any]:
    return rows if units is None else rows.filter(unit__in=units)


def _of_work(units: Sequence[Unit] | None) -> list[Obstacle]:
    """Return the units with a job begun and not released."""
    jobs = _among(Job.objects.filter(state__in=STARTED), units).order_by("number")
    return [
        Obstacle("job_under_way", unit, {"job": number, "state": state})
        for unit, number, state in jobs.values_list("unit__number", "number", "state")
    ]


def unanswered() -> QuerySet[Any]:
    """Return the reports of a defect that nobody has certified as repaired or as needing no repair."""
    return DriverReport.objects.filter(nothing_found=False).exclude(answers__what__in=CERTIFIED)  # type: ignore[no-any-return]


def _of_reports(units: Sequence[Unit] | None) -> list[Obstacle]:
    """Return the units with a driver's report of a defect that nobody has answered (49 CFR 396.11)."""
    rows = _among(unanswered(), units).order_by("-at")
    return [
        Obstacle(
            "report_of_brake" if row.condition else "report_open",
            row.unit.number,
            {
                "report": str(row.pk),
                "by": row.entered_by.name,
                "at": row.at,
                "item": row.item,
                "condition": row.condition,
                "axle": row.axle,
                "side": row.side,
                "said": row.said,
            },
        )
        for row in rows.select_related("unit", "entered_by")
    ]


# -- re-checks


def re_checks_open(units: Sequence[Unit] | None) -> list[ReCheck]:
    """Return the re-checks that nobody has recorded yet."""
    return list(_among(ReCheck.objects.filter(done_at=None), units).select_related("unit", "job").order_by("due_on"))


def re_checks_open_on(numbers: Sequence[str]) -> list[ReCheck]:
    """Return the re-checks nobody has recorded yet on the units of some numbers."""
    rows = ReCheck.objects.filter(done_at=None, unit__number__in=numbers)
    return list(rows.select_related("unit", "job").order_by("due_on"))


def _of_re_checks(units: Sequence[Unit] | None, *, shop: Shop, at: datetime) -> list[Obstacle]:
    """Return the units whose wheels should have been checked again by now."""
    rows = re_checks_open(units)
    late = overdue(rows, shop=shop, at=at)
    return [
        Obstacle(
            "re_check_overdue", row.unit.number, {"job": row.job.number, "re_check": str(row.pk), "day": row.due_on}
        )
        for row in rows
        if row.pk in late
    ]


def overdue(re_checks: Sequence[ReCheck], *, shop: Shop, at: datetime) -> frozenset[UUID]:
    """Return which re-checks are past their last day, or past their distance as far as meters tell.

    As `rechecks.how_due` says it of one, asked for all at once.
    """
    today = at.astimezone(ZoneInfo(shop.zone)).date()
    late = {row.pk for row in re_checks if row.due_on < today}
    rest = [row for row in re_checks if row.pk not in late]
    gone = {**_by_own_meter(rest), **_by_what_pulled(rest, at)}
    return frozenset(late | {row.pk for row in rest if row.pk in gone and gone[row.pk] > row.miles_by})


def _by_own_meter(re_checks: Iterable[ReCheck]) -> dict[UUID, Fraction]:
    """Return how far units with a meter have gone since each re-check was asked for, in miles."""
    rows = [row for row in re_checks if row.due_from]
    running = MeterSegment.objects.filter(unit__in={row.unit_id for row in rows}, ended_at=None)
    segments = {segment.unit_id: segment for segment in running}
    shown = {segment.unit_id: segment.began_reading for segment in segments.values()}
    readings = MeterReading.objects.filter(segment__in=[one.pk for one in segments.values()], doubt="")
    since = min((row.entered_at for row in rows), default=None)
    if since is not None:
        shown |= dict(readings.filter(at__gte=since).order_by("at").values_list("segment__unit", "reading"))
    return {
        row.pk: _miles(shown[row.unit_id]) - _miles(row.due_from) + row.miles_from
        for row in rows
        if row.unit_id in shown
    }


def _miles(text: str) -> Fraction:
    return read_quantity(text, "length", where="meter").in_unit("mi")


def _by_what_pulled(re_checks: Iterable[ReCheck], at: datetime) -> dict[UUID, Fraction]:
    """Return how far units without a meter were pulled since each re-check was asked for, in miles, where known."""
    rows = [row for row in re_checks if not row.due_from and row.unit.kind not in POWER_UNITS]
    if not rows:
        return {}
    ahead = _couplings_ahead({row.unit_id for row in rows}, since=min(row.entered_at for row in rows), until=at)
    powers = {
        one.towing_id: one.towing.number for found in ahead.values() for one in found if one.towing.kind in POWER_UNITS
    }
    meters = {powers[pk]: meter for pk, meter in meters_of(powers).items()}
    gone = {}
    for row in rows:
        spans = list(_spans(row.unit_id, row.entered_at, at, ahead))
        try:
            pulled = distance_pulled(spans, meters, row.entered_at, at, unit="mi", where=row.unit.number)
        except BadInput:  # two couplings at once, or no meter at all: nothing tells, and the day decides
            continue
        if spans:
            gone[row.pk] = pulled.quantity.in_unit("mi")
    return gone


def _couplings_ahead(units: set[UUID], *, since: datetime, until: datetime) -> dict[UUID, list[Coupling]]:
    """Return what pulled some units, and what pulled that, up to the front of the line."""
    found: dict[UUID, list[Coupling]] = defaultdict(list)
    asked: set[UUID] = set()
    level = units
    for _ in range(LONGEST_LINE):
        if not level:
            break
        rows = Coupling.objects.filter(Q(uncoupled_at=None) | Q(uncoupled_at__gt=since), towed__in=level)
        for row in rows.filter(coupled_at__lt=until).select_related("towing"):
            found[row.towed_id].append(row)
        asked |= level
        level = {one.towing_id for unit in level for one in found[unit] if one.towing.kind not in POWER_UNITS} - asked
    return found


def _spans(
    unit: UUID, since: datetime, until: datetime, ahead: dict[UUID, list[Coupling]], depth: int = LONGEST_LINE
) -> Iterable[Pulled]:
    """Give which power unit was at the front, from when to when."""
    for row in ahead.get(unit, ()) if depth else ():
        begin, end = max(since, row.coupled_at), min(until, row.uncoupled_at or until)
        if begin >= end:
            continue
        if row.towing.kind in POWER_UNITS:
            yield Pulled(row.towing.number, begin, end)
        else:
            yield from _spans(row.towing_id, begin, end, ahead, depth - 1)
