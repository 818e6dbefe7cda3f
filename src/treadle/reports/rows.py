"""The rows of a walk-around report: what was found, what passed, and what was not judged, each gathered by place."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from treadle.assess.verdict import Assessment, Finding, NotJudged
from treadle.fleet.records import SIDES, Reading, WalkAround
from treadle.measure import Quantity
from treadle.reports.wording import (
    Line,
    capital,
    law_of,
    limit_of,
    measured_of,
    moment_of,
    place_of,
    rule_of,
    runs,
    subject_of,
)
from treadle.words import say

STROKES = frozenset({"applied_stroke", "rod_applied"})
"""Kinds of reading that give an applied stroke, each under the pressure of its moment."""

_FIRST_AT_AN_END = (
    "applied_stroke",
    "free_stroke",
    "scribe_movement",
    "lining",
    "above_fastener",
    "drum_diameter",
)
"""In which order what passed at a wheel end is listed; anything else follows, what was only looked at comes last."""


@dataclass(frozen=True, slots=True)
class Said:
    """One finding: the outcome, its proof and what would make it right."""

    outcome: str
    word: str
    measured: Line
    limit: Line
    rule: str
    unconfirmed: str
    says: Line
    remedy: Line


@dataclass(frozen=True, slots=True)
class Row:
    """Every finding on one reading: the worst, and what other rules say of the same."""

    where: str
    what: str
    read: str
    main: Said
    also: tuple[Said, ...]
    remedies: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Passed:
    """One reading that passed, with the limit it passed and by which rule."""

    what: str
    measured: Line
    limit: Line
    rule: str


@dataclass(frozen=True, slots=True)
class PassedPlace:
    """Everything that passed in one place."""

    where: str
    readings: tuple[Passed, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """Something not judged and why, with every place it holds for."""

    says: str
    places: tuple[str, ...]


# -- what was found ------------------------------------------------------------------------------------------------


def rows_of(assessment: Assessment, walk_around: WalkAround, language: str) -> tuple[Row, ...]:
    """Gather the findings that are not good, those on one reading in one row, in the order of the worst of each."""
    return tuple(_row(together, assessment, walk_around, language) for together in by_reading(assessment.findings))


def by_reading(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Gather what several rules found wrong with one reading, worst first, in the order of the worst of each."""
    gathered: dict[Any, list[Finding]] = {}
    for index, finding in enumerate(findings):
        if finding.outcome != "good":
            gathered.setdefault(_reading_of(finding) or index, []).append(finding)
    return list(gathered.values())


def _reading_of(finding: Finding) -> tuple[Any, ...] | None:
    """Return what tells the reading of a finding from every other; None for one that rests on no reading of its own."""
    verdict, args = finding.verdict, finding.verdict.args
    if finding.unit is None or "kind" not in args:
        return None
    read = (
        args.get("part"),
        args.get("state"),
        args.get("condition"),
        tuple(args.get("parts", ())),
        args.get("word"),
    )
    return (finding.unit, finding.axle, finding.side, args["kind"], *read, _exact(verdict.measured))


def _exact(quantity: Quantity | None) -> tuple[Any, ...] | None:
    return None if quantity is None else (quantity.value, quantity.unit)


def _row(findings: Sequence[Finding], assessment: Assessment, walk_around: WalkAround, language: str) -> Row:
    first = findings[0]
    readings = readings_of(first, walk_around)
    said = [_said(finding, readings, language) for finding in findings]
    return Row(
        _place(first, assessment, language),
        subject_of(first, language),
        read_of(readings, walk_around, language),
        said[0],
        tuple(said[1:]),
        tuple(dict.fromkeys(one.remedy for one in said)),
    )


def _place(finding: Finding, assessment: Assessment, language: str) -> str:
    """Return where a finding is; a count of brakes names its combination where only one can be meant."""
    if finding.unit is None:
        args = finding.verdict.args
        count = (args.get("halves"), args.get("brakes"))
        meant = [one for one in assessment.combinations if (one.halves, one.brakes) == count]
        if len(meant) == 1:
            return " + ".join(meant[0].units)
    return place_of(finding.unit, finding.axle, finding.side, language)


def readings_of(finding: Finding, walk_around: WalkAround) -> list[Reading]:
    """Return the readings a finding can rest on, oldest first."""
    about = finding.verdict.args.get("kind")
    kinds = STROKES if about == "applied_stroke" else {about}
    place = (finding.unit, finding.axle, finding.side)
    readings = [
        reading
        for reading in walk_around.readings
        if reading.kind in kinds
        and (reading.unit, reading.axle, reading.side) == place
        and reading.part == finding.verdict.args.get("part")
        and reading.state == finding.verdict.args.get("state")
    ]
    return sorted(readings, key=lambda reading: reading.taken.at)


def read_of(readings: Sequence[Reading], walk_around: WalkAround, language: str) -> str:
    """Say when the reading of a finding was taken, and a stroke under what pressure; empty where none was."""
    if not readings:
        return ""
    last = readings[-1].taken
    same_day = last.at.date() == walk_around.taken.at.date()
    at = f"{last.at:%H:%M}" if same_day else moment_of(last.at, language)
    if readings[-1].kind in STROKES and last.reservoir is not None:
        return say("report.read_at_pressure", language, at=at, pressure=last.reservoir)
    return say("report.read_at", language, at=at)


def _said(finding: Finding, readings: Sequence[Reading], language: str) -> Said:
    verdict, says = finding.verdict, finding.says(language)
    values = [str(reading.value) for reading in readings if isinstance(reading.value, Quantity)]
    return Said(
        finding.outcome,
        say(f"outcome.{finding.outcome}", language),
        runs(measured_of(finding, language, as_read=values[-1] if values else "")),
        runs(limit_of(verdict, language)),
        _rule(finding, says, language),
        say("report.unconfirmed", language) if verdict.unconfirmed else "",
        runs(says),
        runs(finding.remedy(language)),
    )


def _rule(finding: Finding, says: str, language: str) -> str:
    """Return the rule behind a sentence; its citation is not said twice."""
    cited = finding.verdict.citation is None or finding.verdict.citation in says
    return law_of(finding.verdict, language) if cited else rule_of(finding.verdict, language)


# -- what passed ---------------------------------------------------------------------------------------------------


def passed_of(findings: Iterable[Finding], language: str) -> tuple[PassedPlace, ...]:
    """Gather what passed by place; at a wheel end what was measured comes before what was looked at."""
    return tuple(
        PassedPlace(
            place_of(*place, language),
            tuple(
                Passed(
                    subject_of(finding, language),
                    runs(measured_of(finding, language)),
                    runs(limit_of(finding.verdict, language)),
                    rule_of(finding.verdict, language),
                )
                for finding in sorted(together, key=_listing)
            ),
        )
        for place, together in groupby(findings, key=lambda one: (one.unit, one.axle, one.side))
    )


def _listing(finding: Finding) -> tuple[bool, int]:
    kind = finding.verdict.args.get("kind")
    place = _FIRST_AT_AN_END.index(kind) if kind in _FIRST_AT_AN_END else len(_FIRST_AT_AN_END)
    return finding.verdict.measured is None, place


# -- what was not judged -------------------------------------------------------------------------------------------


def left_of(entries: Iterable[NotJudged], walk_around: WalkAround, language: str) -> tuple[Left, ...]:
    """Gather what was not judged by what it says, with the places it holds for."""
    gathered: dict[str, list[NotJudged]] = {}
    for entry in entries:
        gathered.setdefault(say(f"not_judged.{entry.why}", language, what=entry.what), []).append(entry)
    return tuple(
        Left(capital(says), tuple(_where(together, walk_around, language))) for says, together in gathered.items()
    )


def _where(entries: Sequence[NotJudged], walk_around: WalkAround, language: str) -> Iterable[str]:
    """Return the places of some entries, as short as they can be said."""
    for unit in walk_around.units:
        ours = [entry for entry in entries if entry.unit == unit.number]
        if not ours:
            continue
        places = {(entry.axle, entry.side) for entry in ours}
        every = {(axle.number, side) for axle in unit.axles for side in SIDES}
        if places == every:
            yield say("report.left.every_end", language, unit=unit.number)
        elif (None, None) in places:
            yield unit.number
        else:
            yield f"{unit.number} {', '.join(_axles(places, language))}"


def _axles(places: Iterable[tuple[int | None, str | None]], language: str) -> Iterable[str]:
    ordered = sorted(places, key=lambda place: (place[0] or 0, SIDES.index(place[1]) if place[1] else -1))
    for axle, together in groupby(ordered, key=lambda place: place[0]):
        sides = [side for _, side in together if side is not None]
        if len(sides) == 1:
            yield say("report.left.end", language, axle=axle, side=sides[0])
        else:
            yield say("report.left.axle", language, axle=axle)
