"""One unit's file: everything on record of it in one line of time, each entry with its day, people and proof."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.urls import reverse

from treadle.reports.wording import listed, place_of
from treadle.web.bay.models import JobEvent, JobRelease, ReCheck, ReCheckRecord
from treadle.web.dispatch.models import DispatchRelease, HoldEvent, YardOrder
from treadle.web.units.models import Coupling, Document, FittedPart, Unit
from treadle.web.units.specs import summary_of
from treadle.web.walkaround.models import DriverReport, DriverReportAnswer, Judged, WalkAround
from treadle.words import say, term

KINDS = ("inspection", "job", "part", "re_check", "report", "dispatch", "hold", "coupling", "document")
"""What a file holds, as its filter names it."""


@dataclass(frozen=True, slots=True)
class Entry:
    """Something on record."""

    at: datetime
    kind: str
    says: str
    by: str
    outcome: str | None = None
    details: str = ""
    url: str = ""
    seal: str = ""
    """The digest that seals it, where it is sealed."""


def file_of(unit: Unit, language: str, *, kinds: Iterable[str] = KINDS, since: date | None = None) -> list[Entry]:
    """Return what is on record of a unit, the latest first.

    Parameters
    ----------
    unit : Unit
        The unit.
    language : str
        "en" or "es".
    kinds : iterable of str, optional
        Which of `KINDS`; all if left out.
    since : date, optional
        Leave out what is older.
    """
    found = [entry for kind in kinds for entry in _SOURCES[kind](unit, language)]
    kept = [entry for entry in found if since is None or entry.at.date() >= since]
    return sorted(kept, key=lambda entry: entry.at, reverse=True)


def last_periodic(unit: Unit) -> Judged | None:
    """Return the unit's last periodic inspection that was judged (49 CFR 396.17); None where there is none."""
    rows = Judged.objects.filter(units=unit, occasion="periodic", about=Judged.About.WALK_AROUND)
    return rows.order_by("-on").first()  # type: ignore[no-any-return]


def _inspections(unit: Unit, language: str) -> Iterator[Entry]:
    walks = WalkAround.objects.filter(walked__unit=unit, abandoned_at=None).select_related("entered_by")
    judged = {
        row.walk_around_id: row
        for row in Judged.objects.filter(units=unit, walk_around__isnull=False)
        .defer("inputs", "policy")
        .order_by("entered_at")
    }
    for walk in walks:
        row = judged.get(walk.pk)
        yield Entry(
            at=walk.begun_at,
            kind="inspection",
            says=say("records.entry.inspection", language, occasion=walk.occasion, units=" + ".join(walk.combination)),
            by=walk.entered_by.name,
            outcome=None if row is None else _outcome_of(row, unit),
            details=say("records.entry.not_judged", language)
            if row is None
            else say("records.entry.edition", language, edition=row.edition),
            url=reverse("walkaround:one", args=[walk.pk]),
        )


def _outcome_of(row: Judged, unit: Unit) -> str | None:
    """Return what an assessment says of one unit."""
    return next((one["outcome"] for one in row.result["units"] if one["number"] == unit.number), None)


def _jobs(unit: Unit, language: str) -> Iterator[Entry]:
    sealed = {row.job_id: row for row in JobRelease.objects.filter(job__unit=unit).select_related("seal", "judged")}
    events = JobEvent.objects.filter(job__unit=unit).select_related("job", "entered_by")
    for event in events:
        release = sealed.get(event.job_id) if event.what == "released" else None
        yield Entry(
            at=event.entered_at,
            kind="job",
            says=say(f"records.job.{event.what}", language, job=event.job.number),
            by=event.entered_by.name,
            outcome=None if release is None else release.judged.outcome,
            details=_of_event(event, language),
            url=reverse("bay:job", args=[event.job.number]),
            seal="" if release is None else release.seal.digest,
        )


def _of_event(event: JobEvent, language: str) -> str:
    """Return what was noted with an event: who took it on, or why it was paused or dropped."""
    details = event.details
    if details.get("people"):
        return listed(details["people"], language)
    return str(details.get("why") or details.get("note") or "")


def _parts(unit: Unit, language: str) -> Iterator[Entry]:
    """Give the parts fitted, what was on the unit when it was registered in one entry, and what was put right."""
    parts = list(FittedPart.objects.filter(unit=unit).select_related("entered_by").order_by("fitted_at"))
    came_with = _came_with(parts)
    if came_with:
        said = say("records.entry.registered", language, count=len(came_with))
        yield Entry(at=unit.entered_at, kind="part", says=said, by=unit.entered_by.name)
    for part in parts:
        if part.pk not in came_with:
            yield Entry(
                at=part.fitted_at,
                kind="part",
                says=say("records.entry.part", language, **_named(part, language)),
                by=part.entered_by.name,
                details=" · ".join(filter(None, (part.lot, part.fitted_in, part.fitted_meter))),
                url=_end_of(unit, part),
            )
    yield from _put_right(unit, {part.pk: part for part in parts}, language)


def _came_with(parts: Iterable[FittedPart]) -> set[UUID]:
    """Return the first part at each place, where no job fitted it: nobody here put it on."""
    first: dict[tuple[int, str, str], FittedPart] = {}
    for part in parts:
        first.setdefault((part.axle, part.side, part.slot), part)
    return {part.pk for part in first.values() if not part.fitted_in}


def _put_right(unit: Unit, parts: Mapping[UUID, FittedPart], language: str) -> Iterator[Entry]:
    """Give each change of what was recorded of a part, with what stood there before."""
    before: dict[UUID, Any] = {}
    for row in FittedPart.history.filter(unit_id=unit.pk).select_related("history_user").order_by("history_date"):
        old = before.get(row.id)
        before[row.id] = row
        if old is not None and row.id in parts and (old.spec, old.lot) != (row.spec, row.lot):
            yield Entry(
                at=row.history_date,
                kind="part",
                says=say("records.entry.put_right", language, **_named(parts[row.id], language)),
                by="" if row.history_user is None else row.history_user.name,
                details=say("records.entry.before", language, what=summary_of(row.slot, old.spec, language)),
                url=_end_of(unit, parts[row.id]),
            )


def _named(part: FittedPart, language: str) -> dict[str, str]:
    where = place_of(part.unit.number, part.axle, part.side, language)
    return {"part": say(f"units.slot.{part.slot}", language), "where": where}


def _end_of(unit: Unit, part: FittedPart) -> str:
    return reverse("units:end", args=[unit.number, part.axle, part.side])


def _re_checks(unit: Unit, language: str) -> Iterator[Entry]:
    for record in ReCheckRecord.objects.filter(re_check__unit=unit).select_related("re_check__job", "entered_by"):
        moved = sum(wheel.get("moved", 0) for wheel in record.wheels)
        yield Entry(
            at=record.done_at,
            kind="re_check",
            says=say("records.entry.re_check", language, job=record.re_check.job.number, moved=moved),
            by=" · ".join(filter(None, (record.done_by, record.outside_shop))),
            details=" · ".join(filter(None, (record.meter, record.note))),
            url=reverse("bay:re_check", args=[record.re_check_id]),
        )


def _reports(unit: Unit, language: str) -> Iterator[Entry]:
    for report in DriverReport.objects.filter(unit=unit).select_related("entered_by"):
        code = "records.entry.report_none" if report.nothing_found else "records.entry.report"
        yield Entry(
            at=report.at,
            kind="report",
            says=say(code, language),
            by=report.entered_by.name,
            details=report.said,
            url=reverse("driver:one", args=[report.pk]),
        )
    answers = DriverReportAnswer.objects.filter(report__unit=unit).select_related("entered_by")
    for answer in answers:
        yield Entry(
            at=answer.entered_at,
            kind="report",
            says=say(f"records.answer.{answer.what}", language),
            by=answer.entered_by.name,
            details=" · ".join(filter(None, (answer.said, answer.job))),
            url=reverse("driver:one", args=[answer.report_id]),
        )


def _dispatches(unit: Unit, language: str) -> Iterator[Entry]:
    for row in DispatchRelease.objects.filter(units=unit).select_related("entered_by", "seal"):
        yield Entry(
            at=row.entered_at,
            kind="dispatch",
            says=say("records.entry.dispatch", language, units=" + ".join(row.combination)),
            by=row.entered_by.name,
            outcome=row.outcome,
            details=row.note,
            url=reverse("dispatch:release", args=[row.pk]),
            seal=row.seal.digest,
        )


def _holds(unit: Unit, language: str) -> Iterator[Entry]:
    for row in HoldEvent.objects.filter(unit=unit).select_related("entered_by"):
        yield Entry(
            at=row.entered_at,
            kind="hold",
            says=say(f"records.hold.{row.what}", language, others=listed(row.with_units, language) or "–"),
            by=row.entered_by.name,
            outcome=row.outcome or None,
            details=row.said,
        )
    for order in YardOrder.objects.filter(unit=unit).select_related("entered_by"):
        yield Entry(
            at=order.entered_at,
            kind="hold",
            says=say("records.entry.order", language, start=order.from_place, end=order.to_place),
            by=order.entered_by.name,
            details=order.why,
        )


def _couplings(unit: Unit, language: str) -> Iterator[Entry]:
    rows = [*Coupling.objects.filter(towing=unit), *Coupling.objects.filter(towed=unit)]
    for row in rows:
        pair = {"towing": row.towing.number, "towed": row.towed.number}
        yield Entry(
            at=row.coupled_at,
            kind="coupling",
            says=say("records.entry.coupled", language, **pair),
            by=row.entered_by.name,
        )
        if row.uncoupled_at is not None:
            by = row.uncoupled_by or row.entered_by
            yield Entry(
                at=row.uncoupled_at, kind="coupling", says=say("records.entry.uncoupled", language, **pair), by=by.name
            )


def _documents(unit: Unit, _: str) -> Iterator[Entry]:
    for paper in Document.objects.filter(unit=unit).select_related("entered_by"):
        yield Entry(
            at=paper.entered_at,
            kind="document",
            says=paper.what,
            by=paper.entered_by.name,
            url=reverse("units:document", args=[unit.number, paper.pk]),
        )


_SOURCES: dict[str, Callable[[Unit, str], Iterator[Entry]]] = {
    "inspection": _inspections,
    "job": _jobs,
    "part": _parts,
    "re_check": _re_checks,
    "report": _reports,
    "dispatch": _dispatches,
    "hold": _holds,
    "coupling": _couplings,
    "document": _documents,
}


def identification(unit: Unit, language: str) -> list[tuple[str, str]]:
    """Return what identifies a unit (49 CFR 396.3(b)(1)), as name and value; what is not known is left out."""
    facts: list[tuple[str, Any]] = [
        ("kind", term(unit.kind, language)),
        ("vin", unit.vin),
        ("built", unit.built),
        ("owner", unit.owner),
        ("maintainer", unit.maintainer),
        ("runs_in", listed([term(place, language) for place in unit.runs_in], language)),
    ]
    return [(say(f"records.fact.{name}", language), value) for name, value in facts if value]


def open_matters(unit: Unit) -> dict[str, int]:
    """Return how many driver's reports wait for an answer, and how many re-checks are due."""
    return {
        "reports": DriverReport.objects.filter(unit=unit, nothing_found=False, answers=None).count(),
        "re_checks": ReCheck.objects.filter(unit=unit, done_at=None).count(),
    }
