"""What every assessment promises whatever was judged; each check returns the broken promises as sentences."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from itertools import pairwise
from typing import Any

from properties.judging import OUTCOMES, RULES, rank

from treadle.assess import Assessment
from treadle.measure import convert

Fields = dict[str, Any]
SHARE = "us.roadside.share"
SAYS_THAT_NO_RULE_SPEAKS = frozenset({"no_limit_held", "no_rule_here", "no_rule_yet", "nothing_judged"})


def worst(outcomes: Iterable[str | None]) -> str | None:
    """The worst of some outcomes; None where there is none.

    >>> worst(["good", None, "fix"]), worst([None])
    ('fix', None)
    """
    return min((one for one in outcomes if one is not None), key=rank, default=None)


def outcomes_roll_up(assessment: Assessment, file: Fields) -> Iterator[str]:
    """Each outcome is the worst of what it is made of; a unit counted in a held combination is held."""

    def found(unit: str | None, axle: int | None = None, side: str | None = None) -> list[str]:
        here = (unit, axle, side)
        return [one.outcome for one in assessment.findings if (one.unit, one.axle, one.side) == here]

    held = {
        end.unit
        for one in assessment.combinations
        for end in one.counted
        if any(units == one.units and outcome == "hold" for units, outcome in _counts(assessment))
    }
    for unit in assessment.units:
        for axle in unit.axles:
            for side, outcome in axle.ends:
                yield from _differs(
                    f"{unit.number} {axle.axle} {side}", outcome, worst(found(unit.number, axle.axle, side))
                )
            parts = [*(outcome for _, outcome in axle.ends), *found(unit.number, axle.axle)]
            yield from _differs(f"{unit.number} {axle.axle}", axle.outcome, worst(parts))
        parts = [*(axle.outcome for axle in unit.axles), *found(unit.number), "hold" if unit.number in held else None]
        yield from _differs(unit.number, unit.outcome, worst(parts))
    of_units = {unit.number: unit.outcome for unit in assessment.units}
    for one in assessment.combinations:
        parts = [of_units[number] for number in one.units]
        parts += [outcome for units, outcome in _counts(assessment) if units == one.units]
        yield from _differs("+".join(one.units), one.outcome, worst(parts))
    parts = [*(one.outcome for one in assessment.combinations), *of_units.values()]
    yield from _differs("the whole", assessment.outcome, worst(parts) or "unseen")


def _differs(place: str, outcome: str | None, expected: str | None) -> Iterator[str]:
    if outcome != expected:
        yield f"{place} is {outcome}, the worst of its parts {expected}"


def _counts(assessment: Assessment) -> Iterator[tuple[tuple[str, ...], str]]:
    """The units and outcome of every finding on a combination's share."""
    for found in assessment.findings:
        if found.unit is None:
            yield tuple(found.verdict.args["units"]), found.outcome


def findings_are_in_order(assessment: Assessment, file: Fields) -> Iterator[str]:
    """Worst first, then as the units stand, by axle, left before right, by rule; the whole before its parts."""
    order = [unit["number"] for unit in file["units"]]
    keys = [
        (
            OUTCOMES.index(found.outcome),
            -1 if found.unit is None else order.index(found.unit),
            found.axle or 0,
            ("left", "right").index(found.side) if found.side else -1,
            found.verdict.rule or "",
        )
        for found in assessment.findings
    ]
    for earlier, later in pairwise(keys):
        if later < earlier:
            yield f"{later} stands after {earlier}"


def findings_have_proof(assessment: Assessment, file: Fields) -> Iterator[str]:
    """What is not good names its rule, or what is missing, or says that no rule speaks of it."""
    for found in assessment.findings:
        verdict = found.verdict
        if found.outcome != "good" and not (
            verdict.rule or verdict.missing or verdict.code in SAYS_THAT_NO_RULE_SPEAKS
        ):
            yield f"{found.outcome} {verdict.code} has neither rule nor missing"


def holds_are_earned(assessment: Assessment, file: Fields) -> Iterator[str]:
    """Only a rule whose breach is hold gives hold, and of the roadside's only a share or what stands alone."""
    for found in assessment.findings:
        if found.outcome != "hold":
            continue
        rule = RULES.rules.get(found.verdict.rule or "")
        if rule is None or rule.then != "hold":
            yield f"hold by {found.verdict.rule}"
        elif rule.layer == "roadside" and rule.quantity != "share" and rule.alone is None:
            yield f"hold by {rule.id}, which only counts"


def excesses_are_exact(assessment: Assessment, file: Fields) -> Iterator[str]:
    """The excess is measured less limit, or limit less measured where more is asked; positive past the limit."""
    for found in assessment.findings:
        verdict = found.verdict
        if verdict.measured is None or verdict.limit is None:
            continue
        rule = RULES.rules[verdict.rule or ""]
        over = convert(verdict.measured.value, verdict.measured.unit, verdict.limit.unit) - verdict.limit.value
        expected = over if rule.comparator.startswith("breach_if_more") else -over
        excess = verdict.excess
        if excess is None or excess.unit != verdict.limit.unit or excess.value != expected:
            yield f"{verdict.measured} against {verdict.limit} by {rule.id}: excess {excess}"
        elif any(amount(str(size)) != (size.value, size.unit) for size in (verdict.measured, verdict.limit, excess)):
            yield f"{verdict.measured}, {verdict.limit}, {excess}: what is shown is not what was compared"
        elif (found.outcome in ("hold", "fix") and expected < 0) or (found.outcome == "good" and expected > 0):
            yield f"{found.outcome} with an excess of {excess}"


_SHOWN = re.compile(r"(-?)(?:(\d+) )?(\d+/\d+|\d+(?:\.\d+)?) (\S+)")


def amount(shown: str) -> tuple[Fraction, str]:
    """The exact number and unit of a quantity as it is shown.

    >>> amount("-1 3/4 in"), amount("6.30 mm")
    ((Fraction(-7, 4), 'in'), (Fraction(63, 10), 'mm'))
    """
    match = _SHOWN.fullmatch(shown)
    if match is None:
        raise ValueError(shown)
    sign, whole, rest, unit = match.groups()
    size = Fraction(whole or 0) + Fraction(rest)
    return (-size if sign else size), unit


def shares_are_counted(assessment: Assessment, file: Fields) -> Iterator[str]:
    """Halves are the sum of those counted; five times them at or past twice the brakes is hold, and only that."""
    brakes_of = {
        unit["number"]: sum(
            {**axle, **axle.get(side, {})}["brake"] != "none" for axle in unit["axles"] for side in ("left", "right")
        )
        for unit in file["units"]
    }
    held = {units for units, outcome in _counts(assessment) if outcome == "hold"}
    for one in assessment.combinations:
        counted = [end.halves for end in one.counted]
        if one.halves != sum(counted) or not set(counted) <= {1, 2}:
            yield f"{one.units}: {one.halves} halves, of {counted}"
        if len({(end.unit, end.axle, end.side) for end in one.counted}) < len(counted):
            yield f"{one.units}: a wheel end is counted twice"
        if one.brakes != sum(brakes_of[number] for number in one.units):
            yield f"{one.units}: {one.brakes} brakes"
        reached = one.brakes > 0 and 5 * one.halves >= 2 * one.brakes
        if (one.units in held) != reached:
            yield f"{one.units}: {one.halves} halves of {one.brakes} brakes, held by its share: {one.units in held}"


def sentences_are_whole(assessment: Assessment, file: Fields) -> Iterator[str]:
    """Every sentence can be said in both languages, with nothing left unfilled."""
    for language in ("en", "es"):
        said = assessment.as_json(language)
        texts = [finding[name] for finding in said["findings"] for name in ("says", "remedy")]
        texts += [entry["says"] for entry in said["not_judged"]]
        for text in texts:
            if not text.strip() or re.search(r"\bNone\b|[{}]", text):
                yield f"{language}: {text!r}"


PROMISES: tuple[Callable[[Assessment, Fields], Iterator[str]], ...] = (
    outcomes_roll_up,
    findings_are_in_order,
    findings_have_proof,
    holds_are_earned,
    excesses_are_exact,
    shares_are_counted,
)
