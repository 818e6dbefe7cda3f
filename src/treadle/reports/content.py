"""What a walk-around report says, put together once for page and paper: every text in one language, nothing drawn.

The page's template and the paper's lay these records out; neither adds up, compares or words anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from treadle.assess.share import as_brakes
from treadle.assess.verdict import Assessment, CombinationOutcome
from treadle.fleet.records import Reading, Taken, Unit, WalkAround
from treadle.reports.plan_view import PADS, Drawing, plan_view
from treadle.reports.rows import STROKES, Left, PassedPlace, Row, left_of, passed_of, rows_of
from treadle.reports.wording import (
    Line,
    breakable,
    built_of,
    capital,
    day_of,
    distance_of,
    listed,
    place_of,
    range_of,
    runs,
    span_of,
)
from treadle.rules.model import OUTCOMES
from treadle.words import catalogue, say, term

_MAY_GO = ("watch", "good")
CAUTIONS = ("kills", "scope", "first", "clear", "chocks", "caged")


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
    counted: tuple[str, ...]
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
    findings = rows_of(assessment, walk_around, language)
    passed = [one for one in assessment.findings if one.outcome == "good"]
    left = left_of(assessment.not_judged, walk_around, language)
    return Report(
        language=language,
        units=", ".join(" + ".join(one.units) for one in assessment.combinations),
        day=day_of(assessment.on, language),
        edition=assessment.edition,
        outcome=_outcome(assessment.outcome, language, assessment.occasion),
        policy=_policy(assessment, language),
        facts=_facts(assessment, walk_around, language),
        tally=_tally(findings, len(passed), len(left), language),
        coupled=_coupled(assessment, walk_around, language, name),
        findings=findings,
        passed=passed_of(passed, language),
        left=left,
        cautions=tuple(say(f"report.caution.{caution}", language) for caution in CAUTIONS),
        walked_by=breakable(listed(_people(walk_around), language)),
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


def _outcome(outcome: str | None, language: str, occasion: str = "") -> Outcome:
    """Return an outcome with what it means; after work nothing may go before the job is released."""
    if outcome is None:
        return Outcome(None, say("report.nothing_asked", language))
    word = say(f"outcome.{outcome}", language)
    waits = occasion == "after_work" and outcome in _MAY_GO
    means = say("report.not_released", language) if waits else say(f"outcome.means.{outcome}", language)
    headline = say("report.headline", language, outcome=capital(word), means=means)
    return Outcome(outcome, word, headline)


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
    strokes = [reading.taken for reading in walk_around.readings if reading.kind in STROKES]
    facts = {
        "occasion": [term(assessment.occasion, language)],
        "walked": [span_of([one.at for one in taken], language)],
        "by": [listed(_people(walk_around), language)],
        "reservoir": _pressures(strokes, language),
        "engine": _states(taken, "engine", language),
        "spring_brakes": _states(taken, "spring_brakes", language),
        "supply": _states(taken, "supply", language) if any(one.supply for one in taken) else [],
        "meter": _meters(walk_around, language),
        "runs_in": [listed(_places(walk_around, language), language)],
        "rules": [say("report.edition", language, day=day_of(assessment.on, language), edition=assessment.edition)],
    }
    return tuple(
        Fact(say(f"report.fact.{name}", language), tuple(map(breakable, values)))
        for name, values in facts.items()
        if values
    )


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
            _outcome(one.outcome, language, assessment.occasion),
            say("report.count.share", language, defective=as_brakes(one.halves), brakes=one.brakes),
            _counted(one, language),
            tuple(
                _unit(units[number], assessment, walk_around, language, f"{name}-{order[number]}")
                for number in one.units
            ),
        )
        for one in assessment.combinations
    )


def _counted(combination: CombinationOutcome, language: str) -> tuple[str, ...]:
    """Return the wheel ends that add to the count, each as half a brake or a whole one."""
    return tuple(
        say(
            f"report.count.{'whole' if end.halves > 1 else 'half'}",
            language,
            where=place_of(end.unit, end.axle, end.side, language),
        )
        for end in combination.counted
    )


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
        capital(described),
        _outcome(judged.outcome, language, assessment.occasion),
        plan_view(unit, assessment, language, name=name),
        tuple(runs(caption) for caption in _captions(unit, walk_around, language)),
    )


def _captions(unit: Unit, walk_around: WalkAround, language: str) -> list[str]:
    """Say what the numbers beside the wheels are."""
    strokes = [one.taken for one in walk_around.readings if one.unit == unit.number and one.kind in STROKES]
    said = []
    noted = [one.reservoir for one in strokes if one.reservoir is not None]
    if noted and len(noted) == len(strokes):
        said.append(say("report.plan.strokes_at", language, pressure=range_of(noted, language)))
    elif strokes:
        said.append(say("report.plan.strokes", language))
    if any(
        one.unit == unit.number and one.kind == "lining" and one.part in PADS and not _rod_seen(unit, one)
        for one in walk_around.readings
    ):
        said.append(say("report.plan.pads", language))
    return said


def _rod_seen(unit: Unit, reading: Reading) -> bool:
    axle = next(axle for axle in unit.axles if axle.number == reading.axle)
    return axle.end(str(reading.side)).rod_can_be_seen
