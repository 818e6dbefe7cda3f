"""How dispatch says what keeps a unit in, who can put it right, and what a release rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse

from treadle.assess import Assessment
from treadle.assess.share import as_brakes
from treadle.fleet.read import read_build_date
from treadle.fleet.records import Reading
from treadle.fleet.records import WalkAround as Record
from treadle.measure import read_quantity
from treadle.reports.parts import Reason
from treadle.reports.wording import built_of, capital, day_of, distance_of, place_of
from treadle.rules.load import shipped
from treadle.sources import cite
from treadle.web.bay.models import ReCheck
from treadle.web.dispatch.obstacles import Obstacle
from treadle.web.people.models import Person, Role
from treadle.web.units.models import Unit
from treadle.web.walkaround.models import DriverReport
from treadle.words import say, term

OF_READINGS = frozenset({"hold", "fix", "unseen"})
"""Obstacles that are outcomes: the findings themselves say why."""
SEES_JOBS = (Role.TECHNICIAN, Role.LEAD, Role.OWNER, Role.INSPECTOR)
RECORDS_RE_CHECKS = (Role.TECHNICIAN, Role.LEAD, Role.DRIVER)
"""Who opens a job's page, and who a re-check's, as the bay has it."""


@dataclass(frozen=True, slots=True)
class Said:
    """An obstacle in words: what keeps the unit in, by which rule, what it waits for, and where that is done."""

    code: str
    unit: str
    says: str
    rule: str
    waits: str
    url: str | None
    """Where it is put right; None where this person, or this site, has no such page."""


def obstacle_said(obstacle: Obstacle, language: str, person: Person | None = None) -> Said:
    """Return an obstacle as screens and papers say it, with the way there if this person may go it."""
    details = {name: _shown(value, language) for name, value in obstacle.details.items()}
    details["where"] = _where(obstacle, language)
    if obstacle.details.get("condition"):
        details["condition"] = condition_said(obstacle.details["condition"], language)
    if obstacle.code == "report_open":
        details["what"] = reported_said(obstacle.details, language)
    return Said(
        code=obstacle.code,
        unit=obstacle.unit,
        says=say(f"dispatch.obstacle.{obstacle.code}", language, **details),
        rule=_rule(obstacle.code),
        waits=say(f"dispatch.waits.{obstacle.code}", language, **details),
        url=None if person is None else _url(obstacle, person),
    )


def _shown(value: Any, language: str) -> Any:
    if isinstance(value, datetime):
        return day_of(value.date(), language)
    return day_of(value, language) if hasattr(value, "isoformat") else value


def _where(obstacle: Obstacle, language: str) -> str:
    details = obstacle.details
    return place_of(obstacle.unit or None, details.get("axle"), details.get("side") or None, language)


def _rule(code: str) -> str:
    """Return the rule that makes a report an obstacle; work begun and re-checks are the shop's own order."""
    return str(cite("cfr-49-396", "396.11(a)")) if code.startswith("report_") else ""


def _url(obstacle: Obstacle, person: Person) -> str | None:
    details = obstacle.details
    if obstacle.code == "job_under_way" and person.may(*SEES_JOBS):
        return reverse("bay:job", args=[details["job"]])
    if obstacle.code.startswith("report_"):
        return reverse("driver:one", args=[details["report"]])
    if obstacle.code == "re_check_overdue" and person.may(*RECORDS_RE_CHECKS):
        return reverse("bay:re_check", args=[details["re_check"]])
    return None


# -- what a driver reported


def condition_said(name: str, language: str) -> str:
    """Return a condition of the published list in words."""
    condition = shipped().conditions.get(name)
    return name if condition is None else condition.label[language]


def reported_said(details: dict[str, Any], language: str) -> str:
    """Return what a report is about: the driver's own words, else the item."""
    if details.get("said"):
        return str(details["said"]).rstrip(" .")
    return item_said(details.get("item") or "other", language)


def report_said(report: DriverReport, language: str) -> str:
    """Return a driver's report in one line: the condition, the driver's own words, or that nothing was found."""
    if report.nothing_found:
        return say("driver.nothing_found", language)
    if report.condition:
        return capital(condition_said(report.condition, language))
    return capital(reported_said({"said": report.said, "item": report.item}, language))


def item_said(item: str, language: str) -> str:
    """Return an item of 49 CFR 396.11 in words."""
    return say(f"paper.defects.item.{item}", language)


# -- a unit, a combination


def described(unit: Unit, language: str) -> str:
    """Return a unit in a few words: "tractor, built March 2019"."""
    built = built_of(read_build_date(unit.built, where=unit.number), language)
    return say("dispatch.described", language, kind=unit.kind, built=built)


def count_said(assessment: Assessment, language: str) -> str:
    """Return the count of defective brakes of the combination, and how many nobody saw; empty where none counts."""
    said = []
    for one in assessment.combinations:
        if one.brakes:
            said.append(say("report.count.share", language, defective=as_brakes(one.halves), brakes=one.brakes))
            unseen = _ends_unseen(assessment, one.units)
            if unseen:
                said.append(say("dispatch.count_unseen", language, count=unseen))
    return " ".join(said)


def _ends_unseen(assessment: Assessment, numbers: Sequence[str]) -> int:
    """Return how many wheel ends of some units are unseen."""
    return sum(
        outcome == "unseen"
        for unit in assessment.units
        if unit.number in numbers
        for axle in unit.axles
        for _, outcome in axle.ends
    )


def obstacle_reason(said: Said) -> Reason:
    """Return an obstacle as a paper lists it: nobody has judged what it is about yet."""
    outcome = said.code if said.code in OF_READINGS else "unseen"
    return Reason(outcome=outcome, where=said.unit, says=said.says, rule=said.rule, remedy=said.waits)


def re_check_said(re_check: ReCheck, language: str) -> str:
    """Return a re-check to take along: of which wheels, by which meter reading or distance, and by which day."""
    given = {"unit": re_check.unit.number, "job": re_check.job.number, "day": day_of(re_check.due_on, language)}
    if re_check.due_from and re_check.due_by:
        return say(
            "dispatch.re_check.meter",
            language,
            **given,
            low=_meter(re_check.due_from, language),
            high=_meter(re_check.due_by, language),
        )
    return say("dispatch.re_check.distance", language, **given, low=re_check.miles_from, high=re_check.miles_by)


def _meter(text: str, language: str) -> str:
    return distance_of(read_quantity(text, "length", where="meter"), language)


# -- what it rests on


@dataclass(frozen=True, slots=True)
class Rests:
    """A kind of reading of one unit: the oldest that counts, and how many days old it is."""

    what: str
    by: str
    at: datetime
    days: int


def rests_on(
    record: Record, assessment: Assessment, unit: str, *, at: datetime, zone: str, language: str
) -> list[Rests]:
    """Return the kinds of readings of a unit that were judged, each with its oldest, the oldest kind first."""
    judged = kinds_judged(assessment, unit)
    oldest: dict[str, Reading] = {}
    for reading in record.readings:
        if reading.unit == unit and _kind(reading) in judged:
            known = oldest.setdefault(_kind(reading), reading)
            if reading.taken.at < known.taken.at:
                oldest[_kind(reading)] = reading
    there = ZoneInfo(zone)
    rows = sorted(oldest.items(), key=lambda one: one[1].taken.at)
    today = at.astimezone(there).date()
    return [
        Rests(
            what=capital(term(kind, language)),
            by=reading.taken.by or "",
            at=reading.taken.at.astimezone(there),
            days=(today - reading.taken.at.astimezone(there).date()).days,
        )
        for kind, reading in rows
    ]


def kinds_judged(assessment: Assessment, unit: str) -> frozenset[str]:
    """Return the kinds of readings of a unit that came to an outcome: what is missing or too old is none."""
    return frozenset(
        f"{args['kind']}_{args['state']}" if args.get("state") else str(args["kind"])
        for finding in assessment.findings
        for args in [finding.verdict.args]
        if finding.unit == unit and finding.outcome != "unseen" and args.get("kind")
    )


def _kind(reading: Reading) -> str:
    kind = "applied_stroke" if reading.kind in ("rod_applied", "rod_released") else reading.kind
    return f"{kind}_{reading.state}" if reading.state else kind


def age_said(days: int, language: str) -> str:
    """Return how old something is in days: "today", "1 day", "12 days"."""
    return say(f"dispatch.age.{'today' if days == 0 else 'day' if days == 1 else 'days'}", language, days=days)
