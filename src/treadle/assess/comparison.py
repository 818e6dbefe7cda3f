"""Holding one reading against the limits that may apply: within, breach, or open, and by which figure."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from treadle.assess.limits import Candidate, Group
from treadle.fleet.records import Taken
from treadle.measure import Quantity, show_number
from treadle.rules.compare import asks_for_less, excess, is_past, strictness
from treadle.rules.model import Figure, Window

State = Literal["within", "breach", "open", "under_one"]
Standing = Literal["met", "above", "below", "void", "unknown"]


_SAME_UNIT = {"length": "mm", "pressure": "kPa", "time": "s", "angle": "deg", "temperature": "°C"}


@dataclass(frozen=True, slots=True)
class Circumstances:
    """How the circumstances of a reading stand to what a rule asks: met, off to one side, void, or not known."""

    standing: Standing
    why: str = ""
    missing: tuple[str, ...] = ()


MET = Circumstances("met")


@dataclass(frozen=True, slots=True)
class Comparison:
    """What one group of limits says of one reading.

    `limit` and `past_by` are those of the candidate that decides: of several that agree the strictest for a pass and
    the most lenient for a breach; None where the state is open.  `past_by`, `least` and `most` are in the limit's
    unit, positive past it; the last two bound it over every candidate.
    """

    group: Group
    state: State
    measured: Quantity | None = None
    limit: Quantity | None = None
    past_by: Fraction | None = None
    basis: str | None = None
    decides: Candidate | None = None
    why: str = ""
    missing: tuple[str, ...] = ()
    least: Fraction | None = None
    most: Fraction | None = None
    standing: Standing = "met"

    @property
    def excess(self) -> Quantity | None:
        """How far past the limit the reading lies, as its tool shows it; negative within."""
        if self.past_by is None or self.limit is None or self.measured is None:
            return None
        unit = self.limit.unit
        number = show_number(self.past_by, unit, decimal=self.measured.decimal)
        return Quantity(self.past_by, unit, shown=f"{number} {unit}")

    @property
    def candidate(self) -> Candidate:
        """The candidate that decides, or the first."""
        return self.decides or self.group.candidates[0]


def circumstances(
    window: Window, taken: Taken, *, spring_brake: bool | None = None, has_engine: bool = False
) -> Circumstances:
    """Say how the circumstances of a reading stand to a rule's window.

    `spring_brake` is False at an end without one: then nobody need have noted whether springs were released.
    A unit without an engine, tested on shop air, needs no word on one.
    """
    if window.engine is not None and (has_engine or taken.supply != "shop"):
        if taken.engine is None:
            return Circumstances("unknown", "engine_unknown", ("engine",))
        if taken.engine != window.engine:
            return Circumstances("void", "engine_running")
    if window.spring_brakes is not None:
        if taken.spring_brakes is None and spring_brake is not False:
            return Circumstances("unknown", "spring_brakes_unknown", ("spring_brakes",))
        if taken.spring_brakes == "applied":
            return Circumstances("void", "spring_brakes_applied")
    if window.reservoir is None:
        return MET
    if taken.reservoir is None:
        return Circumstances("unknown", "pressure_unknown", ("reservoir",))
    low, high = window.reservoir
    pressure = taken.reservoir.in_unit(low.unit)
    if pressure < low.value:
        return Circumstances("below", "wrong_pressure")
    return Circumstances("above", "wrong_pressure") if pressure > high.in_unit(low.unit) else MET


def compare(group: Group, measured: Quantity, given: Circumstances = MET) -> Comparison:
    """Hold a measured quantity against every limit of a group.

    A reading within its limit at more than the rule's pressure, or past it at less, stands; the other two are open.
    """
    results = [_against(candidate, measured) for candidate in group.candidates]
    known = [result for result in results if result is not None]
    if len(known) < len(results):
        return Comparison(group, "open", measured, why="no_figure", missing=_figure_names(group))
    if all(result.past for result in known):
        state: State = "breach"
    elif any(result.past for result in known):
        return Comparison(group, "open", measured, why="in_doubt", missing=tuple(sorted(group.unknown)))
    else:
        state = "within"
    if group.maybe_none and state == "breach":
        return Comparison(group, "open", measured, why="in_doubt", missing=tuple(sorted(group.unknown)))
    if not _stands(state, given.standing):
        return Comparison(group, "open", measured, why=given.why, missing=given.missing, standing=given.standing)
    best = known[0]
    least = most = best.past_by
    if len(known) > 1:
        best = (max if state == "within" else min)(known, key=_Result.strictness)
        least, most = min(result.past_by for result in known), max(result.past_by for result in known)
    return Comparison(
        group,
        state,
        measured,
        best.limit,
        best.past_by,
        best.candidate.basis,
        best.candidate,
        least=least,
        most=most,
        standing=given.standing,
    )


def _stands(state: State, standing: Standing) -> bool:
    if standing == "met":
        return True
    return standing == ("above" if state == "within" else "below")


def _figure_names(group: Group) -> tuple[str, ...]:
    names = {
        name.partition(".")[2]
        for candidate in group.candidates
        for name in (candidate.rule.figure_from, candidate.rule.or_figure_from)
        if name
    }
    return tuple(sorted(names))


@dataclass(frozen=True, slots=True)
class _Result:
    candidate: Candidate
    past: bool
    limit: Quantity
    past_by: Fraction

    def strictness(self) -> tuple[Fraction, bool]:
        """Return a key that is greater the stricter the limit, in one unit for all limits of one dimension."""
        return strictness(self.candidate.rule.comparator, self.limit.in_unit(_SAME_UNIT[self.limit.dimension]))


def _against(candidate: Candidate, measured: Quantity) -> _Result | None:
    """Hold a quantity against one candidate; of two figures that bind together the stricter is the limit."""
    results = [_one_figure(candidate, figure, measured) for figure in candidate.figures]
    if len(results) > 1:
        return max(results, key=_Result.strictness)
    return results[0] if results else None


def _one_figure(candidate: Candidate, figure: Figure, measured: Quantity) -> _Result:
    comparator = candidate.rule.comparator
    limit = figure.beside(measured.unit)
    value = measured.in_unit(limit.unit)
    return _Result(candidate, is_past(comparator, value, limit.value), limit, excess(comparator, value, limit.value))


def words_against(group: Group, word: str) -> Comparison:
    """Hold a word (``at_mark``, ``moved``, ``did_not_act``) against rules that list what they forbid."""
    past = [word in candidate.rule.words for candidate in group.candidates]
    first = group.candidates[0]
    if not any(past):
        return Comparison(group, "within", basis=first.basis, decides=first)
    if not all(past) or group.maybe_none:
        return Comparison(group, "open", why="in_doubt", missing=tuple(sorted(group.unknown)))
    return Comparison(group, "breach", basis=first.basis, decides=first)


def breach_of(group: Group) -> Comparison:
    """Return a breach no figure decides: a device that never acted, a rod that bottomed, something seen."""
    first = group.candidates[0]
    return Comparison(group, "breach", basis=first.basis, decides=first)


def is_at_least_as_strict(one: Comparison, other: Comparison) -> bool:
    """Whether the limit that passed in `one` is as strict as the one in `other`, of the same reading."""
    if one.limit is None or other.limit is None or one.measured is None:
        return False
    unit = one.measured.unit
    ours, theirs = one.candidate.rule.comparator, other.candidate.rule.comparator
    if asks_for_less(ours) != asks_for_less(theirs):
        return False
    return strictness(ours, one.limit.in_unit(unit)) >= strictness(theirs, other.limit.in_unit(unit))
