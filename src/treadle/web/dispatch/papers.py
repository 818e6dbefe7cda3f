"""Dispatch on paper: a release, the tag on the dash, a driver's report; from rows to the core's records."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from treadle.assess import Assessment
from treadle.errors import TreadleError
from treadle.fleet.records import WalkAround as Record
from treadle.reports.dash_tag import DashTag, Held, Released, YardMove
from treadle.reports.defect_report import Answer, Defect, DefectReport, Review
from treadle.reports.dispatch_release import DispatchRelease as Paper
from treadle.reports.dispatch_release import Rest, UnitReleased
from treadle.reports.parts import Reason, Shop, reasons_of
from treadle.reports.wording import capital, distance_of, place_of
from treadle.wear import distance_between, last_known
from treadle.web.bay.models import JobRelease
from treadle.web.dispatch.board import Verdict
from treadle.web.dispatch.models import DispatchRelease, YardOrder
from treadle.web.dispatch.obstacles import CERTIFIED
from treadle.web.dispatch.wording import (
    OF_READINGS,
    condition_said,
    count_said,
    described,
    obstacle_reason,
    obstacle_said,
    rests_on,
)
from treadle.web.people.models import Person
from treadle.web.people.models import Shop as ShopRow
from treadle.web.units.distance import meters_of, pulled_distance
from treadle.web.units.models import Coupling, Unit
from treadle.web.walkaround.models import DriverReport, DriverReportAnswer, Reading
from treadle.web.walkaround.stored import read_back
from treadle.words import say

# -- a release


def release_paper(release: DispatchRelease, *, shop: ShopRow, language: str, url: str) -> Paper:
    """Return a dispatch release as it was sealed, for printing."""
    record, assessment = read_back(release.judged)
    units = {unit.number: unit for unit in release.units.all()}
    at = release.entered_at.astimezone(ZoneInfo(shop.zone))
    said = say(f"dispatch.policy.{release.policy_said}", language) if release.policy_said else ""
    return Paper(
        shop=Shop(shop.name),
        units=tuple(
            UnitReleased(
                number=number,
                described=described(units[number], language),
                outcome=_outcome_of(assessment, number),
                rests_on=tuple(_rests(record, assessment, units[number], at=at, shop=shop, language=language)),
                notes=_reasons_for(assessment, number, language),
            )
            for number in release.combination
        ),
        outcome=release.outcome,
        count=count_said(assessment, language),
        at=at,
        by=release.entered_by.name,
        url=url,
        policy=" ".join(filter(None, (said, release.note))),
    )


def _rests(
    record: Record, assessment: Assessment, unit: Unit, *, at: datetime, shop: ShopRow, language: str
) -> Iterator[Rest]:
    for one in rests_on(record, assessment, unit.number, at=at, zone=shop.zone, language=language):
        gone = distance_since(unit, one.at, at, measure="km" if shop.measure == "mm" else "mi", language=language)
        yield Rest(what=one.what, by=one.by, at=one.at, distance=gone)


def _outcome_of(assessment: Assessment, number: str) -> str:
    return next(one.outcome for one in assessment.units if one.number == number) or "unseen"


def _reasons_for(assessment: Assessment, number: str, language: str) -> tuple[Reason, ...]:
    return reasons_of([one for one in assessment.findings if one.unit in (number, None)], language)


def distance_since(unit: Unit, since: datetime, until: datetime, *, measure: str, language: str) -> str:
    """Return how far a unit has gone from one moment to another, as its meter or what pulled it tells; else nothing."""
    meter = meters_of([unit.pk]).get(unit.pk)
    try:
        if meter is None:
            pulled = pulled_distance(unit, since=since, until=until, measure=measure)
            return "" if pulled is None or not pulled.is_whole else distance_of(pulled.quantity, language)
        last, _ = last_known(meter.segments, meter.readings, unit=measure, where=unit.number)
        gone = distance_between(
            meter.segments, meter.readings, since, max(since, min(until, last)), unit=measure, where=unit.number
        )
    except TreadleError:  # no meter then, or readings that do not fit: nothing is said rather than something guessed
        return ""
    return distance_of(gone.quantity, language) if gone.is_whole else ""


# -- the tag on the dash


def release_in_force(units: Sequence[Unit]) -> DispatchRelease | None:
    """Return the release units go by; None once they were coupled, worked on, reported or measured anew."""
    row = DispatchRelease.objects.filter(units=units[0]).select_related("entered_by").first()
    if row is None or row.combination != [unit.number for unit in units]:
        return None
    since = row.entered_at
    changed = (
        Coupling.objects.filter(towed__in=units, uncoupled_at=None, coupled_at__gt=since).exists()
        or JobRelease.objects.filter(job__unit__in=units, entered_at__gt=since).exists()
        or DriverReport.objects.filter(unit__in=units, nothing_found=False, entered_at__gt=since).exists()
        or Reading.objects.filter(unit__in=units, entered_at__gt=since).exists()
    )
    return None if changed else row  # type: ignore[no-any-return]


def order_in_force(unit: Unit, at: datetime) -> YardOrder | None:
    """Return the lead's order by which a unit may be moved in the yard now."""
    return YardOrder.objects.filter(unit=unit, until__gt=at).select_related("entered_by").first()  # type: ignore[no-any-return]


def tag_paper(unit: Unit, verdict: Verdict, *, by: Person, at: datetime, language: str, url: str) -> DashTag:
    """Return the tag of a unit as it stands in its combination: held, not released yet, or released."""
    zone = ZoneInfo(by.shop.zone)
    here = at.astimezone(zone)
    release = release_in_force(verdict.units) if verdict.may_leave else None
    state: Held | Released
    if release is not None:
        state = Released(
            outcome=_outcome_of(verdict.assessment, unit.number),
            by=release.entered_by.name,
            at=release.entered_at.astimezone(zone),
            notes=_reasons_for(verdict.assessment, unit.number, language),
            combination=tuple(release.combination) if len(release.combination) > 1 else (),
        )
    else:
        state = Held(
            outcome=_held_as(unit, verdict),
            since=_since(unit, verdict, here).astimezone(zone),
            ordered_by=by.name,
            why=_why_held(unit, verdict, language),
            move=_move(unit, at, zone),
        )
    return DashTag(
        shop=Shop(by.shop.name),
        unit=unit.number,
        described=described(unit, language),
        state=state,
        made_at=here,
        url=url,
    )


def _held_as(unit: Unit, verdict: Verdict) -> str | None:
    """Return the outcome that keeps a unit in; what nobody looked into is unseen, None is not released."""
    own = [one for one in verdict.obstacles if one.unit in (unit.number, "")]
    of_readings = next((one.code for one in own if one.code in OF_READINGS), None)
    return of_readings or ("unseen" if own else None)


def _since(unit: Unit, verdict: Verdict, now: datetime) -> datetime:
    """Return since when a unit is kept in: the last reading of it, or the report that nobody has answered."""
    held_as = _held_as(unit, verdict)
    if held_as is None:
        return now
    own = [one for one in verdict.obstacles if one.unit in (unit.number, "")]
    reported: list[datetime] = [one.details["at"] for one in own if "at" in one.details]
    if reported and not any(one.code in OF_READINGS for one in own):
        return min(reported)
    read = [one.taken.at for one in verdict.record.readings if one.unit == unit.number]
    return max(read, default=unit.entered_at)


def _why_held(unit: Unit, verdict: Verdict, language: str) -> tuple[Reason, ...]:
    """Return what keeps a unit in and nothing it may go with, what was not read last of its own."""
    said = [obstacle_said(one, language) for one in verdict.obstacles]
    own = [obstacle_reason(one) for one in said if one.unit == unit.number and one.code not in OF_READINGS]
    others = [
        Reason(
            outcome=one.code if one.code in OF_READINGS else "unseen",
            where=capital(place_of(None, None, None, language)),
            says=one.says,
        )
        for one in said
        if one.unit not in (unit.number, "")
    ]
    found = [one for one in _reasons_for(verdict.assessment, unit.number, language) if one.outcome in OF_READINGS]
    decided = [one for one in found if one.outcome != "unseen"]
    return (*decided, *own, *(one for one in found if one.outcome == "unseen"), *others)


def _move(unit: Unit, at: datetime, zone: ZoneInfo) -> YardMove | None:
    order = order_in_force(unit, at)
    if order is None:
        return None
    return YardMove(
        ordered_by=order.entered_by.name,
        ordered_at=order.entered_at.astimezone(zone),
        until=order.until.astimezone(zone),
        start=order.from_place,
        end=order.to_place,
    )


# -- a driver's report


def item_of(report: DriverReport) -> str:
    """Return the item of 49 CFR 396.11 a report is about; of one that names none, what its condition or place says."""
    if report.item:
        return str(report.item)
    return "service_brakes" if report.condition else "other"


def defect_paper(report: DriverReport, *, shop: ShopRow, language: str, url: str) -> DefectReport:
    """Return a driver's report with its answer and review, for printing."""
    zone = ZoneInfo(shop.zone)
    rows = list(report.answers.select_related("entered_by"))
    certified = [row for row in rows if row.what in CERTIFIED]
    review = next((row for row in rows if row.what == DriverReportAnswer.What.REVIEWED), None)
    where = place_of(report.unit.number, report.axle, report.side or None, language)
    found = condition_said(report.condition, language) if report.condition else ""
    said = ". ".join(filter(None, (capital(found), report.said)))
    return DefectReport(
        shop=Shop(shop.name),
        units=(report.unit.number,),
        driver=report.entered_by.name,
        at=report.at.astimezone(zone),
        defects=() if report.nothing_found else (Defect(item=item_of(report), says=said, unit=where),),
        none_found=report.nothing_found,
        answers=tuple(
            Answer(
                defect=0,
                outcome=row.what,
                says=" · ".join(filter(None, (row.said, row.job))),
                by=row.entered_by.name,
                at=row.entered_at.astimezone(zone),
            )
            for row in certified[-1:]
        ),
        review=None if review is None else Review(driver=review.entered_by.name, at=review.entered_at.astimezone(zone)),
        meter=report.meter,
        url=url,
    )
