"""A driver's reports (49 CFR 396.11 and 396.13): reporting, the carrier's answer, and the review before the next run.

A driver is not a qualified inspector: what is reported keeps the unit in until somebody answers, and is never judged as
a reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any, Literal
from uuid import UUID

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from treadle.measure import read_distance
from treadle.web.bay.models import Job
from treadle.web.dispatch.obstacles import CERTIFIED
from treadle.web.people.models import Person
from treadle.web.units.couple import combinations_of
from treadle.web.units.meters import note_meter, running_meter
from treadle.web.units.models import Coupling, Unit
from treadle.web.walkaround.models import DriverReport, DriverReportAnswer, WalkedUnit
from treadle.web.walkaround.pictures import cleaned

State = Literal["nothing", "open", "answered", "reviewed"]
USED_WITHIN = timedelta(days=60)
"""A vehicle not used for longer is searched for, not offered (chosen)."""
OFFERED = 6
"""Vehicles offered on the door at most."""


class Refused(Exception):
    """Something about a report was not done; `code` names the sentence, `details` fill it."""

    def __init__(self, code: str, **details: Any) -> None:
        """Keep why."""
        self.code, self.details = code, details
        super().__init__(code)


# -- reporting


def report(
    report_id: UUID,
    unit: Unit,
    *,
    by: Person,
    at: datetime,
    nothing_found: bool = False,
    item: str = "",
    axle: int | None = None,
    side: str = "",
    condition: str = "",
    said: str = "",
    where: str = "",
    meter: str = "",
    photo: bytes | None = None,
) -> DriverReport:
    """Take a driver's report under the id its page made; the same one sent twice is taken once.

    Parameters
    ----------
    report_id : UUID
        Made by the page.
    unit : Unit
        The vehicle.
    by, at : Person, datetime
        The driver, and when.
    nothing_found : bool, optional
        The driver's own statement that no defect was found.
    item : str, optional
        What of the vehicle it is about, of the items of 49 CFR 396.11.
    axle, side : optional
        The wheel end, where it is at one.
    condition : str, optional
        From the published list, where one fits.
    said : str, optional
        In the driver's own words.
    where : str, optional
        Where the vehicle is.
    meter : str, optional
        What its meter shows; noted with the meter's own readings.
    photo : bytes, optional
        A picture; what the camera wrote into it is left out.

    Raises
    ------
    BadInput
        The meter cannot be so, or the picture cannot be read.
    """
    known = DriverReport.objects.filter(pk=report_id).first()
    if known is not None:
        return known  # type: ignore[no-any-return]
    row = DriverReport(
        id=report_id,
        unit=unit,
        at=at,
        zone=by.shop.zone,
        nothing_found=nothing_found,
        item=item,
        axle=axle,
        side=side,
        condition=condition,
        said=said,
        where=where,
        entered_by=by,
        entered_zone=by.shop.zone,
    )
    picture = None if photo is None else cleaned(photo)
    try:
        with transaction.atomic():
            row.meter = _noted(unit, meter, at=at, by=by)
            if picture is not None:
                row.photo.save(f"{report_id}.jpg", ContentFile(picture), save=False)
            row.save()
    except IntegrityError:  # sent twice at the same moment: the other one is there now
        return DriverReport.objects.get(pk=report_id)  # type: ignore[no-any-return]
    return row


def _noted(unit: Unit, meter: str, *, at: datetime, by: Person) -> str:
    """Note what the meter shows, and return it as it was read; of a unit without a meter it stays what was typed."""
    if not meter:
        return ""
    if running_meter(unit) is None:
        return str(read_distance(meter, where="meter", default_unit="mi"))
    return note_meter(unit, meter, at=at, by=by).reading


# -- answering and reviewing


def answer(
    answer_id: UUID, about: DriverReport, *, what: str, said: str, job: str, by: Person, at: datetime
) -> DriverReportAnswer:
    """Certify that a reported defect was repaired, or that no repair is needed; the same id is taken once.

    Raises
    ------
    Refused
        Nothing was reported, somebody answered before, there is no such job of the unit, or it is not released.
    """
    known = DriverReportAnswer.objects.filter(pk=answer_id).first()
    if known is not None:
        return known  # type: ignore[no-any-return]
    with transaction.atomic():
        DriverReport.objects.select_for_update().get(pk=about.pk)
        if about.nothing_found:
            raise Refused("nothing_to_answer")
        before = about.answers.filter(what__in=CERTIFIED).select_related("entered_by").first()
        if before is not None:
            raise Refused("answered", name=before.entered_by.name)
        if job:
            _check_job(about, what, job)
        row = DriverReportAnswer(
            id=answer_id,
            report=about,
            what=what,
            said=said,
            job=job,
            entered_by=by,
            entered_at=at,
            entered_zone=by.shop.zone,
        )
        row.save()
    return row


def _check_job(about: DriverReport, what: str, number: str) -> None:
    job = Job.objects.filter(unit=about.unit, number__iexact=number).first()
    if job is None:
        raise Refused("no_such_job", job=number, unit=about.unit.number)
    if what == DriverReportAnswer.What.REPAIRED and job.state != Job.State.RELEASED:
        raise Refused("job_not_released", job=job.number)


def review(about: DriverReport, *, by: Person, at: datetime) -> DriverReportAnswer:
    """Note that a driver has seen a report and its answer before driving (49 CFR 396.13); noted once.

    Raises
    ------
    Refused
        Nobody has answered it yet.
    """
    with transaction.atomic():
        DriverReport.objects.select_for_update().get(pk=about.pk)
        known = about.answers.filter(what=DriverReportAnswer.What.REVIEWED).first()
        if known is not None:
            return known  # type: ignore[no-any-return]
        if not about.answers.filter(what__in=CERTIFIED).exists():
            raise Refused("not_answered")
        row = DriverReportAnswer(
            report=about,
            what=DriverReportAnswer.What.REVIEWED,
            entered_by=by,
            entered_at=at,
            entered_zone=by.shop.zone,
        )
        row.save()
    return row


# -- how they stand


def state_of(about: DriverReport) -> State:
    """Return how a report stands, by its answers."""
    given = {row.what for row in about.answers.all()}
    if about.nothing_found:
        return "nothing"
    if not given & set(CERTIFIED):
        return "open"
    return "reviewed" if DriverReportAnswer.What.REVIEWED in given else "answered"


def reports_by(person: Person) -> QuerySet[Any]:
    """Return the reports of a driver, the last first."""
    rows = DriverReport.objects.filter(entered_by=person).select_related("unit", "entered_by")
    return rows.prefetch_related("answers__entered_by").order_by("-at")  # type: ignore[no-any-return]


def to_review(units: Sequence[Unit]) -> list[DriverReport]:
    """Return the answered reports on units that no driver has reviewed yet, the last first."""
    rows = DriverReport.objects.filter(unit__in=units, answers__what__in=CERTIFIED).distinct()
    rows = rows.exclude(answers__what=DriverReportAnswer.What.REVIEWED)
    return list(rows.select_related("unit", "entered_by").prefetch_related("answers__entered_by").order_by("-at"))


def vehicles_of(person: Person, *, at: datetime) -> list[Unit]:
    """Return the vehicles a driver used last, by coupling, walking and reporting, with what they are coupled to."""
    since = at - USED_WITHIN
    used: dict[UUID, datetime] = {}
    for unit, moment in (
        *DriverReport.objects.filter(entered_by=person, at__gt=since).values_list("unit", "at"),
        *WalkedUnit.objects.filter(walk_around__entered_by=person, walk_around__begun_at__gt=since).values_list(
            "unit", "walk_around__begun_at"
        ),
        *Coupling.objects.filter(entered_by=person, coupled_at__gt=since).values_list("towing", "coupled_at"),
        *Coupling.objects.filter(entered_by=person, coupled_at__gt=since).values_list("towed", "coupled_at"),
    ):
        used[unit] = max(moment, used.get(unit, moment))
    latest = sorted(used, key=lambda pk: used[pk], reverse=True)[:OFFERED]
    units = {unit.pk: unit for unit in Unit.objects.filter(pk__in=latest, left_fleet_on=None)}
    found: dict[UUID, Unit] = {}
    for line in combinations_of([units[pk] for pk in latest if pk in units]):
        found |= {unit.pk: unit for unit in line}
    return list(found.values())
