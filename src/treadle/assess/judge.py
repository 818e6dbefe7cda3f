"""The judge: a walk-around and the rules in, an assessment out.  Pure: the day and the files come in as arguments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from itertools import chain
from typing import Any

from treadle.assess.law import Law, law_on
from treadle.assess.matching import judge_match
from treadle.assess.needs import SEEN_WHEN_OPEN, needed_at
from treadle.assess.policy import LAW_ONLY, Policy
from treadle.assess.share import Count, Place, count_share
from treadle.assess.unit_tests import UnitTests
from treadle.assess.verdict import (
    Assessment,
    AxleOutcome,
    CombinationOutcome,
    Finding,
    NotJudged,
    UnitOutcome,
    Verdict,
    worst,
)
from treadle.assess.weigh import Share, Weighed
from treadle.assess.wheel_end import EndPlan, judge_end
from treadle.fleet.read import Vocabulary
from treadle.fleet.records import SIDES, Axle, Reading, Unit, WalkAround, WheelEnd
from treadle.rules.model import OUTCOMES, Rule, RuleSet

Where = tuple[str | None, int | None, str | None]
_ROADSIDE_SHARE = "us.roadside.share"
_NOT_TOUCHED = Weighed(not_judged=[("wheel_end", "not_touched")]).settled()


def vocabulary(rule_set: RuleSet) -> Vocabulary:
    """Return the words a walk-around file may use that these rules publish."""
    conditions = {name: condition.part for name, condition in rule_set.conditions.items()}
    return Vocabulary(conditions, rule_set.jurisdictions)


def assess(
    walk_around: WalkAround,
    rule_set: RuleSet,
    *,
    on: date | None = None,
    occasion: str | None = None,
    policy: Policy = LAW_ONLY,
) -> Assessment:
    """Judge a walk-around.

    Parameters
    ----------
    walk_around : WalkAround
        Units, couplings and readings.
    rule_set : RuleSet
        The rules; `rules.load.shipped` returns those that come with Treadle.
    on : date, optional
        The day whose rules apply; the local day the walk-around was taken if left out.
    occasion : str, optional
        The occasion, which says what is needed; the file's own if left out.
    policy : Policy, optional
        The shop's own, tighter limits and confirmed figures; law only if left out.

    Returns
    -------
    Assessment
        Outcomes of every wheel end, axle, unit and combination, with findings sorted worst first.
    """
    day = on or walk_around.taken.at.date()
    return judge_of(rule_set, day, occasion or walk_around.occasion, policy).assess(walk_around)


@lru_cache(maxsize=16)
def judge_of(rule_set: RuleSet, on: date, occasion: str, policy: Policy = LAW_ONLY) -> Judge:
    """Return the judge of a day and occasion, kept for the next walk-around: most are judged on the same day."""
    return Judge(rule_set, on, occasion, policy)


@dataclass(slots=True)
class Judge:
    """Judges any number of walk-arounds on one day; what it worked out for one wheel end serves all ends alike."""

    rule_set: RuleSet
    on: date
    occasion: str
    policy: Policy = LAW_ONLY
    law: Law = field(init=False)
    _plans: dict[Any, EndPlan] = field(default_factory=dict)
    _matches: dict[tuple[int, int], Weighed] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Resolve the law of the day once."""
        self.law = law_on(self.on, self.occasion, self.rule_set, self.policy)

    def assess(self, walk_around: WalkAround) -> Assessment:
        """Judge one walk-around."""
        return _Sitting(self, walk_around).assessment()

    def plan(self, unit: Unit, axle: Axle, side: str) -> EndPlan:
        """Return what the rules say of a wheel end, worked out once for all alike."""
        end = axle.end(side)
        key = (unit.kind, unit.built, unit.runs_in, axle.role, end)
        plan = self._plans.get(key)
        if plan is None:
            plan = self._plans[key] = EndPlan(self.law, unit, axle, end)
        return plan

    def match(self, left: EndPlan, right: EndPlan) -> Weighed:
        """Return what comparing the two ends of an axle comes to, worked out once for all alike."""
        key = (id(left), id(right))
        if key not in self._matches:
            self._matches[key] = judge_match(self.law, left, right)
        return self._matches[key]


class _Sitting:
    """The judging of one walk-around: collects what each place came to, then rolls it up."""

    def __init__(self, judge: Judge, walk_around: WalkAround) -> None:
        self.judge, self.walk_around = judge, walk_around
        self.order = {unit.number: index for index, unit in enumerate(walk_around.units)}
        self.units = {unit.number: unit for unit in walk_around.units}
        self.kept: list[tuple[Where, Weighed]] = []
        self.shares: dict[Place, dict[str, Share]] = {}
        self.ends: dict[Place, str | None] = {}
        self.plans: dict[tuple[str, str, int], EndPlan] = {}
        self.axles: dict[tuple[str, int], str | None] = {}
        self.own: dict[str, list[str | None]] = {unit.number: [] for unit in walk_around.units}
        self.at_ends: dict[Place, list[Reading]] = {}
        self.of_units: dict[str, list[Reading]] = {unit.number: [] for unit in walk_around.units}
        self._sort_readings()
        self.touched = self._touched()

    def _sort_readings(self) -> None:
        may_age = self.judge.policy.age_days is not None
        for reading in self.walk_around.readings:
            if may_age and self._too_old(reading):
                continue
            if reading.axle is not None and reading.side is not None:
                self.at_ends.setdefault((reading.unit, reading.axle, reading.side), []).append(reading)
            else:
                self.of_units[reading.unit].append(reading)

    def _too_old(self, reading: Reading) -> bool:
        """Whether a reading is past the age at which the shop still counts it as seen."""
        days = self.judge.policy.age_days
        if days is None or self.judge.on - reading.taken.at.date() <= timedelta(days=days):
            return False
        too_old = Weighed(not_judged=[(reading.kind, "too_old")]).settled()
        self.kept.append(((reading.unit, reading.axle, reading.side), too_old))
        return True

    def _touched(self) -> frozenset[Place] | None:
        """Return the wheel ends the occasion is about; None where it is about all of them."""
        if self.judge.occasion != "after_work":
            return None
        return frozenset(self.at_ends) if self.walk_around.touched is None else self.walk_around.touched

    def assessment(self) -> Assessment:
        for unit in self.walk_around.units:
            self._judge_unit(unit)
        for numbers in self.walk_around.coupled:
            self._judge_tests([self.units[number] for number in numbers])
        outcomes = {unit.number: self._unit_outcome(unit) for unit in self.walk_around.units}
        combinations, outcomes = self._combinations(outcomes)
        outcome = worst([*(one.outcome for one in combinations), *outcomes.values()])
        findings, not_judged = self._in_order()
        return Assessment(
            on=self.judge.on,
            occasion=self.judge.occasion,
            edition=self.judge.rule_set.edition,
            outcome=outcome or "unseen",
            units=tuple(
                UnitOutcome(unit.number, outcomes[unit.number], self._axle_outcomes(unit))
                for unit in self.walk_around.units
            ),
            combinations=tuple(combinations),
            findings=findings,
            not_judged=not_judged,
            unseen_blocks=(
                None
                if self.judge.policy.unseen_blocks is None
                else self.judge.policy.unseen_blocks.get(self.judge.occasion, True)
            ),
        )

    # -- one unit ----------------------------------------------------------------------------------------------

    def _judge_unit(self, unit: Unit) -> None:
        for axle in unit.axles:
            for side in SIDES:
                self._judge_end(unit, axle, side)
            self._judge_axle(unit, axle)

    def _judge_end(self, unit: Unit, axle: Axle, side: str) -> None:
        place = (unit.number, axle.number, side)
        end, readings = axle.end(side), self.at_ends.get(place, ())
        plan = self._plan(unit, axle, side)
        touched = self.touched is None or place in self.touched
        needs = self._needs(place, end) if touched else ()
        if not touched and not readings:
            self.ends[place] = None
            self.kept.append((place, _NOT_TOUCHED))
            return
        weighed = judge_end(plan, readings, needs)
        self.shares[place] = weighed.shares
        self.kept.append((place, weighed))
        self.ends[place] = weighed.outcome

    def _needs(self, place: Place, end: WheelEnd) -> tuple[str, ...]:
        """Return what the occasion needs at an end; the size of a drum or rotor only where it was open."""
        needs = needed_at(self.judge.occasion, end.brake, rod_can_be_seen=end.rod_can_be_seen)
        if place in self.walk_around.kept_shut:
            return tuple(need for need in needs if need not in SEEN_WHEN_OPEN)
        return needs

    def _plan(self, unit: Unit, axle: Axle, side: str) -> EndPlan:
        """Return an end's plan; ends alike on one unit are mostly one record, so its identity finds it fastest."""
        key = (unit.number, axle.role, id(axle.end(side)))
        plan = self.plans.get(key)
        if plan is None:
            plan = self.plans[key] = self.judge.plan(unit, axle, side)
        return plan

    def _judge_axle(self, unit: Unit, axle: Axle) -> None:
        outcomes = [self.ends[unit.number, axle.number, side] for side in SIDES]
        if set(outcomes) != {None} and "none" not in (axle.left.brake, axle.right.brake):
            weighed = self.judge.match(*(self._plan(unit, axle, side) for side in SIDES))
            self.kept.append(((unit.number, axle.number, None), weighed))
            outcomes.append(weighed.outcome)
        self.axles[unit.number, axle.number] = worst(outcomes)

    def _judge_tests(self, units: Sequence[Unit]) -> None:
        touched = None if self.touched is None else frozenset(number for number, _, _ in self.touched)
        tests = UnitTests(self.judge.law, units, self.of_units, touched)
        for number, weighed in tests.run().items():
            self.kept.append(((number, None, None), weighed))
            self.own[number].append(weighed.outcome)

    # -- roll-up -----------------------------------------------------------------------------------------------

    def _unit_outcome(self, unit: Unit) -> str | None:
        axles = [self.axles[unit.number, axle.number] for axle in unit.axles]
        outcome = worst([*axles, *self.own[unit.number]])
        if outcome is None and self.touched is None:
            verdict = Verdict(outcome="unseen", code="nothing_judged", remedy="nothing_judged")
            self._keep_one(verdict, unit.number)
            return "unseen"
        return outcome

    def _combinations(self, outcomes: dict[str, str | None]) -> tuple[list[CombinationOutcome], dict[str, str | None]]:
        """Count every combination's share; a share that holds it holds each unit that adds to it."""
        combinations = []
        outcomes = dict(outcomes)
        for numbers in self.walk_around.coupled:
            units = [self.units[number] for number in numbers]
            for number, count in self._counts_of_each(units):
                outcomes[number] = worst([outcomes[number], count.outcome])
            shown = self._count(self.judge.rule_set.rules[_ROADSIDE_SHARE], units)
            for number in shown.holds:
                outcomes[number] = worst([outcomes[number], "hold"])
            combinations.append(
                CombinationOutcome(
                    tuple(numbers),
                    worst([*(outcomes[number] for number in numbers), shown.outcome]),
                    shown.halves,
                    shown.brakes,
                    shown.counted,
                )
            )
        return combinations, outcomes

    def _counts_of_each(self, units: Sequence[Unit]) -> list[tuple[str, Count]]:
        """Return the counts of laws that count over one vehicle, where it runs, by unit number."""
        return [
            (unit.number, self._count(rule, [unit], whose=unit.number))
            for rule in self.judge.law.by_quantity.get("share", ())
            for unit in units
            if rule.id != _ROADSIDE_SHARE and rule.jurisdiction in unit.runs_in
        ]

    def _count(self, rule: Rule, units: Sequence[Unit], whose: str | None = None) -> Count:
        count = count_share(self.judge.law, rule, units, self.shares)
        if count.verdict is not None:
            self._keep_one(count.verdict, whose)
        return count

    def _keep_one(self, verdict: Verdict, unit: str | None) -> None:
        self.kept.append(((unit, None, None), Weighed(verdicts=[verdict]).settled()))

    def _axle_outcomes(self, unit: Unit) -> tuple[AxleOutcome, ...]:
        return tuple(
            AxleOutcome(
                axle.number,
                self.axles[unit.number, axle.number],
                tuple((side, self.ends[unit.number, axle.number, side]) for side in SIDES),
            )
            for axle in unit.axles
        )

    def _in_order(self) -> tuple[tuple[Finding, ...], tuple[NotJudged, ...]]:
        """Return everything found, worst first and then as the units stand; and what was not judged, as they stand."""
        by_outcome: dict[str, list[Finding]] = {outcome: [] for outcome in OUTCOMES}
        not_judged = []
        at: dict[Where, Weighed] = {}
        for where, weighed in self.kept:
            at[where] = _joined(at[where], weighed) if where in at else weighed
        for where in sorted(at, key=self._rank):
            (unit, axle, side), weighed = where, at[where]
            for verdict in weighed.verdicts:
                by_outcome[verdict.outcome].append(Finding(verdict, unit, axle, side))
            if unit is not None:
                not_judged += [NotJudged(unit, what, why, axle, side) for what, why in weighed.not_judged]
        return tuple(chain.from_iterable(by_outcome.values())), tuple(not_judged)

    def _rank(self, where: Where) -> tuple[int, int, int]:
        unit, axle, side = where
        return (-1 if unit is None else self.order[unit], axle or 0, -1 if side is None else SIDES.index(side))


def _joined(one: Weighed, other: Weighed) -> Weighed:
    """Return what two weighings of one place come to together, in the order of their rules."""
    both = Weighed()
    both.take(one)
    both.take(other)
    return both.settled()
