"""What a walk-around report says, put together once for page and paper: every text in one language, nothing drawn.

The page's template and the paper's lay these records out; neither adds up, compares or words anything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from treadle.assess.verdict import Assessment, CombinationOutcome, Finding, NotJudged
from treadle.fleet.records import SIDES, Taken, Unit, WalkAround
from treadle.measure import Quantity
from treadle.reports.plan_view import Drawing, plan_view
from treadle.reports.wording import (
    Line,
    brakes_of,
    built_of,
    day_of,
    distance_of,
    limit_of,
    listed,
    measured_of,
    place_of,
    range_of,
    rule_of,
    runs,
    span_of,
    subject_of,
)
from treadle.rules.model import OUTCOMES
from treadle.words import catalogue, say, term

CAUTIONS = ("kills", "scope", "first", "clear", "chocks", "caged")
_STROKES = frozenset({"applied_stroke", "rod_applied"})


@dataclass(frozen=True, slots=True)
class Outcome:
    """An outcome with its word; what it means for moving where that is said."""

    outcome: str | None
    word: str
    headline: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing to know of the walk: its name and what was noted."""

    name: str
    values: tuple[str, ...]


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


@dataclass(frozen=True, slots=True)
class UnitPart:
    """One unit: what it is, what it came to, and its drawing."""

    number: str
    described: str
    outcome: Outcome
    drawing: Drawing
    captions: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Coupled:
    """Units coupled together: what they came to, and their count of defective brakes."""

    units: str
    outcome: Outcome
    share: str
    counted: str
    parts: tuple[UnitPart, ...]


@dataclass(frozen=True, slots=True)
class Tally:
    """How many rows the report has, by outcome, and how many passed or were left."""

    by_outcome: tuple[tuple[str, str, int], ...]
    passed: str
    not_judged: str


@dataclass(frozen=True, slots=True)
class Report:
    """The whole report in one language."""

    language: str
    units: str
    day: str
    edition: str
    outcome: Outcome
    policy: str
    facts: tuple[Fact, ...]
    tally: Tally
    coupled: tuple[Coupled, ...]
    findings: tuple[Row, ...]
    passed: tuple[PassedPlace, ...]
    left: tuple[Left, ...]
    cautions: tuple[str, ...]
    walked_by: str
    marks: tuple[Outcome, ...]
    words: dict[str, str]


def report_of(assessment: Assessment, walk_around: WalkAround, language: str = "en", *, name: str = "plan") -> Report:
    """Put together what the report of an assessment says.

    `name` begins the ids inside the drawings, so that several reports may stand in one page.
    """
    findings = _rows([one for one in assessment.findings if one.outcome != "good"], language)
    passed = [one for one in assessment.findings if one.outcome == "good"]
    left = _left(assessment.not_judged, walk_around, language)
    return Report(
        language=language,
        units=", ".join(" + ".join(one.units) for one in assessment.combinations),
        day=day_of(assessment.on, language),
        edition=assessment.edition,
        outcome=_outcome(assessment.outcome, language),
        policy=_policy(assessment, language),
        facts=_facts(assessment, walk_around, language),
        tally=_tally(findings, len(passed), len(left), language),
        coupled=_coupled(assessment, walk_around, language, name),
        findings=findings,
        passed=_passed(passed, language),
        left=left,
        cautions=tuple(say(f"report.caution.{caution}", language) for caution in CAUTIONS),
        walked_by=listed(_people(walk_around), language),
        marks=tuple(_outcome(outcome, language) for outcome in reversed(OUTCOMES)),
        words=_words(language),
    )


def _words(language: str) -> dict[str, str]:
    """Return the fixed words of the report by their code after ``report.``, for headings and columns."""
    return {
        code.removeprefix("report."): text
        for code, text in catalogue(language).items()
        if code.startswith("report.") and "{" not in text
    } | {"page": say("report.page", language, page="{page}", pages="{pages}")}


def _outcome(outcome: str | None, language: str) -> Outcome:
    if outcome is None:
        return Outcome(None, say("report.nothing_asked", language))
    word = say(f"outcome.{outcome}", language)
    means = say(f"outcome.means.{outcome}", language)
    headline = say("report.headline", language, outcome=_capital(word), means=means)
    return Outcome(outcome, word, headline)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _policy(assessment: Assessment, language: str) -> str:
    """Say what the shop's policy makes of what is unseen; empty without a policy, or with nothing unseen."""
    if assessment.unseen_blocks is None or all(one.outcome != "unseen" for one in assessment.findings):
        return ""
    return say(f"report.policy_{'keeps_in' if assessment.unseen_blocks else 'lets_go'}", language)


# -- the walk ------------------------------------------------------------------------------------------------------


def _people(walk_around: WalkAround) -> list[str]:
    readings = (reading.taken.by for reading in walk_around.readings)
    return list(dict.fromkeys([walk_around.taken.by, *readings]))


def _facts(assessment: Assessment, walk_around: WalkAround, language: str) -> tuple[Fact, ...]:
    taken = [walk_around.taken, *(reading.taken for reading in walk_around.readings)]
    strokes = [reading.taken for reading in walk_around.readings if reading.kind in _STROKES]
    facts = {
        "occasion": [term(assessment.occasion, language)],
        "walked": [span_of([one.at for one in taken], language)],
        "by": [listed(_people(walk_around), language)],
        "reservoir": _pressures(strokes, language),
        "engine": _states(taken, "engine", language),
        "spring_brakes": _states(taken, "spring_brakes", language),
        "supply": _states([one for one in taken if one.supply], "supply", language) if _any_supply(taken) else [],
        "meter": _meters(walk_around, language),
        "runs_in": [listed(_places(walk_around, language), language)],
        "rules": [
            say("report.edition", language, day=day_of(assessment.on, language), edition=assessment.edition)
        ],
    }
    return tuple(Fact(say(f"report.fact.{name}", language), tuple(values)) for name, values in facts.items() if values)


def _any_supply(taken: Iterable[Taken]) -> bool:
    return any(one.supply for one in taken)


def _pressures(taken: Sequence[Taken], language: str) -> list[str]:
    """Return the reservoir pressures under which strokes were read; empty where none were."""
    if not taken:
        return []
    noted = [one.reservoir for one in taken if one.reservoir is not None]
    said = [range_of(noted, language)] if noted else []
    return said if len(noted) == len(taken) else [*said, say("report.state.not_noted", language)]


def _states(taken: Sequence[Taken], field: str, language: str) -> list[str]:
    states = dict.fromkeys(getattr(one, field) or "not_noted" for one in taken)
    return [listed([say(f"report.state.{state}", language) for state in states], language)]


def _meters(walk_around: WalkAround, language: str) -> list[str]:
    return [
        say("report.state.meter", language, unit=unit, reading=distance_of(reading, language))
        for unit, reading in walk_around.meter.items()
    ]


def _places(walk_around: WalkAround, language: str) -> list[str]:
    return [term(place, language) for place in dict.fromkeys(one for unit in walk_around.units for one in unit.runs_in)]


def _tally(rows: Sequence[Row], passed: int, left: int, language: str) -> Tally:
    """Count rows, worst first."""
    counts = {outcome: sum(row.main.outcome == outcome for row in rows) for outcome in OUTCOMES}
    return Tally(
        tuple((outcome, say(f"outcome.{outcome}", language), count) for outcome, count in counts.items() if count),
        say("report.tally.passed", language, count=passed),
        say("report.tally.not_judged", language, count=left),
    )


# -- combinations and units ----------------------------------------------------------------------------------------


def _coupled(assessment: Assessment, walk_around: WalkAround, language: str, name: str) -> tuple[Coupled, ...]:
    units = {unit.number: unit for unit in walk_around.units}
    order = {number: index for index, number in enumerate(units)}
    return tuple(
        Coupled(
            " + ".join(one.units),
            _outcome(one.outcome, language),
            say("report.count.share", language, defective=brakes_of(one.halves), brakes=one.brakes),
            _counted(one, language),
            tuple(
                _unit(units[number], assessment, walk_around, language, f"{name}-{order[number]}")
                for number in one.units
            ),
        )
        for one in assessment.combinations
    )


def _counted(combination: CombinationOutcome, language: str) -> str:
    ends = [
        say(
            f"report.count.{'whole' if end.halves > 1 else 'half'}",
            language,
            where=place_of(end.unit, end.axle, end.side, language),
        )
        for end in combination.counted
    ]
    return say("report.count.counted", language, ends=listed(ends, language)) if ends else ""


def _unit(unit: Unit, assessment: Assessment, walk_around: WalkAround, language: str, name: str) -> UnitPart:
    judged = next(one for one in assessment.units if one.number == unit.number)
    described = say(
        f"report.unit.{'one' if len(unit.axles) == 1 else 'many'}",
        language,
        axles=len(unit.axles),
        kind=unit.kind,
        built=built_of(unit.built, language),
    )
    return UnitPart(
        unit.number,
        _capital(described),
        _outcome(judged.outcome, language),
        plan_view(unit, assessment, language, name=name),
        tuple(runs(caption) for caption in _captions(unit, walk_around, language)),
    )


def _captions(unit: Unit, walk_around: WalkAround, language: str) -> list[str]:
    """Say what the numbers beside the wheels are."""
    strokes = [one.taken for one in walk_around.readings if one.unit == unit.number and one.kind in _STROKES]
    said = []
    noted = [one.reservoir for one in strokes if one.reservoir is not None]
    if noted and len(noted) == len(strokes):
        said.append(say("report.plan.strokes_at", language, pressure=range_of(noted, language)))
    elif strokes:
        said.append(say("report.plan.strokes", language))
    ends = [axle.end(side) for axle in unit.axles for side in SIDES]
    if any(not end.rod_can_be_seen and end.brake == "air_disc" for end in ends):
        said.append(say("report.plan.pads", language))
    return said


# -- findings ------------------------------------------------------------------------------------------------------


def _rows(findings: Sequence[Finding], language: str) -> tuple[Row, ...]:
    """Gather the findings on each reading into one row, in the order of the worst of them."""
    gathered: dict[Any, list[Finding]] = {}
    for finding in findings:
        gathered.setdefault(_reading_of(finding), []).append(finding)
    return tuple(_row(together, language) for together in gathered.values())


def _reading_of(finding: Finding) -> tuple[Any, ...]:
    """Return what tells the reading of a finding from every other."""
    verdict, args = finding.verdict, finding.verdict.args
    about = (args.get("kind"), args.get("part"), args.get("state"), args.get("condition"), tuple(args.get("parts", ())))
    counted = verdict.rule if finding.axle is None and args.get("kind") is None else None
    return (finding.unit, finding.axle, finding.side, *about, _exact(verdict.measured), args.get("word"), counted)


def _exact(quantity: Quantity | None) -> tuple[Any, ...] | None:
    return None if quantity is None else (quantity.value, quantity.unit)


def _row(findings: Sequence[Finding], language: str) -> Row:
    first = findings[0]
    said = [_said(finding, language) for finding in findings]
    return Row(
        place_of(first.unit, first.axle, first.side, language),
        subject_of(first, language),
        said[0],
        tuple(said[1:]),
        tuple(dict.fromkeys(one.remedy for one in said)),
    )


def _said(finding: Finding, language: str) -> Said:
    verdict = finding.verdict
    return Said(
        finding.outcome,
        say(f"outcome.{finding.outcome}", language),
        runs(measured_of(finding, language)),
        runs(limit_of(verdict, language)),
        rule_of(verdict, language),
        say("report.unconfirmed", language) if verdict.unconfirmed else "",
        runs(finding.says(language)),
        runs(finding.remedy(language)),
    )


def _passed(findings: Iterable[Finding], language: str) -> tuple[PassedPlace, ...]:
    """Gather what passed by place; at a wheel end what was measured comes before what was looked at."""
    by_place: Callable[[Finding], Any] = lambda one: (one.unit, one.axle, one.side)  # noqa: E731 - a key, used once
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
                for finding in sorted(together, key=lambda one: one.verdict.measured is None)
            ),
        )
        for place, together in groupby(findings, key=by_place)
    )


# -- what was not judged -------------------------------------------------------------------------------------------


def _left(entries: Iterable[NotJudged], walk_around: WalkAround, language: str) -> tuple[Left, ...]:
    """Gather what was not judged by what it says, with the places it holds for."""
    gathered: dict[str, list[NotJudged]] = {}
    for entry in entries:
        gathered.setdefault(say(f"not_judged.{entry.why}", language, what=entry.what), []).append(entry)
    return tuple(
        Left(_capital(says), tuple(_where(together, walk_around, language))) for says, together in gathered.items()
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
