"""How places, parts, people and findings of a job are said on its screens and papers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from treadle.procedures import Measurement, Step, TorqueRecord, shipped
from treadle.reports.parts import Reason
from treadle.reports.rows import by_reading
from treadle.reports.wording import day_of, listed, place_of, rule_of
from treadle.web.bay.models import JobTask
from treadle.web.people.models import Person, Qualification
from treadle.words import has, say, term


def end_of(axle: int | None, sides: Sequence[str], language: str) -> str:
    """Return wheel ends as a heading has them: "Axle 2, left and right"."""
    if axle is None:
        return ""
    if not sides:
        return say("bay.axle", language, axle=axle)
    return say("bay.end", language, axle=axle, sides=listed([term(side, language) for side in sides], language))


def task_of(task: JobTask, language: str) -> str:
    """Return a task in one line: what, and where."""
    title = shipped()[task.procedure].title.says(language)
    return say("bay.task", language, title=title, where=end_of(task.axle, task.sides, language))


def step_place(task: JobTask, step: Step, language: str) -> str:
    """Return where a step is done: an end, or the axle."""
    return end_of(task.axle, (step.side,) if step.side else (), language)


def reason_of(finding: Mapping[str, Any], language: str) -> Reason:
    """Return a finding kept with a job as the papers and screens say it."""
    says = finding["said"][language]
    citation = finding.get("citation") or ""
    return Reason(
        outcome=finding["outcome"],
        where=place_of(finding.get("unit"), finding.get("axle"), finding.get("side"), language),
        says=says,
        rule="" if citation in says else citation,
        remedy=finding["remedies"][language],
    )


def reasons_of(findings: Iterable[Mapping[str, Any]], language: str) -> tuple[Reason, ...]:
    """Return the findings kept with a task or a list, each once, in the order they were kept."""
    return tuple(dict.fromkeys(reason_of(finding, language) for finding in findings))


def read_with_verdicts(findings: Iterable[Any], language: str) -> list[dict[str, Any]]:
    """Return what the judge says of readings, worst first: outcome, sentence and rule; what is good beside it."""
    found = list(findings)
    good = [[one] for one in found if one.outcome == "good"]
    return [
        {"outcome": one[0].outcome, "says": one[0].says(language), "rule": rule_of(one[0].verdict, language)}
        for one in [*by_reading(found), *good]
    ]


def qualified_as(person: Person, on: date, language: str) -> str:
    """Return how a person is qualified for brakes on a day, with the day it ends, or that they are not."""
    held = person.qualified(Qualification.ForWhat.BRAKES, on)
    if held is None:
        return say("bay.qualified.no", language)
    limited = say("bay.qualified.limited", language, tasks=held.limited_to) if held.limited_to else ""
    if held.expires_on is None:
        return say("bay.qualified.open", language) + limited
    return say("bay.qualified.until", language, day=day_of(held.expires_on, language)) + limited


def entry_said(entry: Mapping[str, Any], measurement: Measurement | None, language: str) -> str:
    """Return something measured at a step: what, and the value as it was read."""
    what = term(entry["kind"], language) if measurement is None else measurement.says.says(language)
    value = entry.get("value") or term(entry.get("special") or "", language)
    return say("bay.measured", language, what=what, value=value)


def torque_record_said(band: Mapping[str, Any], step: Step | None, language: str) -> str:
    """Return the torque record that a wheel was tightened by, in one piece, as it was kept."""
    record = None if step is None else next((one for one in step.torque if one.key == band["record"]), None)
    known = record is not None and (str(record.low), str(record.high)) == (band["low"], band["high"])
    if record is not None and known and band["lubrication"] == record.lubrication:
        return record.says.says(language)
    code = f"procedure.lubrication.{band['lubrication']}"
    return say(
        "bay.torque_kept",
        language,
        low=band["low"],
        high=band["high"],
        lubrication=_lubrication(band["lubrication"], code, language),
        source=band["source"],
    )


def _lubrication(kept: str, code: str, language: str) -> str:
    """Return the state of the threads: a key of ours in words, or what was written down where that was open."""
    return say(code, language) if has(code) else kept


def torque_choice(record: TorqueRecord, language: str) -> str:
    """Return a torque record as something to choose: band, fastener, lubrication and source, with how we know it."""
    return say("bay.torque_choice", language, record=record.says.says(language), basis=term(record.basis, language))


def here(at: datetime, zone: str) -> datetime:
    """Return a moment by the clock of the shop."""
    return at.astimezone(ZoneInfo(zone))
