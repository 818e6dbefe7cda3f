"""Judging a drawn file, and comparing what came of it place by place; no verdict is known here."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from hypothesis import Phase, settings

from treadle.assess import Assessment, Policy, assess, vocabulary
from treadle.fleet.read import records_from
from treadle.rules.load import shipped

RULES = shipped()
WORDS = vocabulary(RULES)
OUTCOMES = ("hold", "fix", "unseen", "watch", "good")
EVERY_LIMIT_CONFIRMED = Policy(confirmed=frozenset(RULES.rules))
"""A shop whose people have read every official text: no watch is left that only asks for that."""

Place = tuple[Any, ...]


def examples(count: int) -> settings:
    """So many examples, the same on every run and on every machine, however slow.

    A failing file is not made smaller, which takes minutes: the sentences of a failure name its place.
    """
    unhurried = settings(max_examples=count, derandomize=True, database=None, deadline=None)
    return settings(unhurried, phases=(Phase.explicit, Phase.generate))


def judged(file: dict[str, Any], *, on: date | None = None, policy: Policy | None = None) -> Assessment:
    """What the judge says of a file's fields."""
    walk_around = records_from(file, WORDS)
    return assess(walk_around, RULES, on=on, **({} if policy is None else {"policy": policy}))


def outcomes(assessment: Assessment) -> dict[Place, str]:
    """The outcome of every wheel end, axle, unit and combination, and of the whole; None is left out."""
    return {place: outcome for place, outcome in _outcomes(assessment) if outcome is not None}


def _outcomes(assessment: Assessment) -> Iterator[tuple[Place, str | None]]:
    yield ("whole",), assessment.outcome
    for combination in assessment.combinations:
        yield ("combination", *sorted(combination.units)), combination.outcome
    for unit in assessment.units:
        yield ("unit", unit.number), unit.outcome
        for axle in unit.axles:
            yield ("axle", unit.number, axle.axle), axle.outcome
            for side, outcome in axle.ends:
                yield ("end", unit.number, axle.axle, side), outcome


def rank(outcome: str | None) -> int:
    """How good an outcome is, hold least; nothing said stands beside good.

    >>> rank("hold") < rank("fix") < rank("unseen") < rank("watch") < rank("good") == rank(None)
    True
    """
    return OUTCOMES.index(outcome or "good")


def improved(before: Assessment, after: Assessment) -> list[str]:
    """Every place whose outcome is better afterwards, as a sentence."""
    was, became = outcomes(before), outcomes(after)
    return [
        f"{' '.join(map(str, place))}: {was.get(place)} became {became.get(place)}"
        for place in dict.fromkeys([*was, *became])
        if rank(became.get(place)) > rank(was.get(place))
    ]


def worst_of_each_reading(assessment: Assessment) -> dict[Place, str]:
    """The worst that is said of each kind of reading at each place: of each shoe, of each thing seen."""
    worst: dict[Place, str] = {}
    for found in assessment.findings:  # worst first
        args = found.verdict.args
        about = tuple(args.get(name) for name in ("kind", "part", "state", "condition"))
        worst.setdefault((found.unit, found.axle, found.side, *about), found.outcome)
    return worst


_NO_BREACH = ("within", "near", "not_confirmed", "under_one", "unseen", "identify", "missing", "not_seen", "no_")


def breaches(assessment: Assessment, *layers: str) -> set[Place]:
    """The rules of some layers that a file breaches, each with its place and what it says of which part."""
    return {
        (found.unit, found.axle, found.side, found.verdict.rule, found.verdict.args.get("part"))
        for found in assessment.findings
        if found.verdict.layer in layers and not found.verdict.code.startswith(_NO_BREACH)
    }


def halves(assessment: Assessment) -> dict[Place, int]:
    """The half brakes that every combination counts."""
    return {tuple(sorted(one.units)): one.halves for one in assessment.combinations}
