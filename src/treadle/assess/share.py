"""The share of defective brakes: over a combination at the roadside, or over one vehicle where a law counts so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from treadle.assess.law import HALF_SETTING, Law
from treadle.assess.verdict import Counted, Verdict
from treadle.assess.weigh import Share
from treadle.fleet.records import SIDES, Unit
from treadle.rules.model import Rule, Value

Place = tuple[str, int, str]
_HALF = 1


@dataclass(frozen=True, slots=True)
class Count:
    """Half brakes counted over some units, of so many brakes, and what that comes to."""

    halves: int
    brakes: int
    counted: tuple[Counted, ...]
    verdict: Verdict | None

    @property
    def outcome(self) -> str | None:
        """The outcome of the count; None where it says nothing."""
        return None if self.verdict is None else self.verdict.outcome

    @property
    def holds(self) -> frozenset[str]:
        """The units held by it: those that add to it, where it puts them out of service."""
        return frozenset(end.unit for end in self.counted) if self.outcome == "hold" else frozenset()


def count_share(law: Law, rule: Rule, units: Sequence[Unit], shares: Mapping[Place, Mapping[str, Share]]) -> Count:
    """Count defective brakes in halves against a share, in whole numbers.

    Held when ``100 x halves >= percent x 2 x brakes``; unseen when the ends nobody has seen could still reach it.
    """
    places = [
        (unit.number, axle.number, side)
        for unit in units
        for axle in unit.axles
        for side in SIDES
        if axle.end(side).brake != "none"
    ]
    ours = {place: shares.get(place, {}).get(rule.jurisdiction, Share()) for place in places}
    counted = tuple(
        Counted(*place, share.least, tuple(dict.fromkeys(share.rules))) for place, share in ours.items() if share.least
    )
    halves, most = sum(share.least for share in ours.values()), sum(share.most for share in ours.values())
    value = rule.in_force(law.on)
    verdict = None
    if value is not None and places:
        numbers = tuple(unit.number for unit in units)
        verdict = _verdict(law, rule, value, counted, units=numbers, halves=halves, most=most, brakes=len(places))
    return Count(halves, len(places), counted, verdict)


def _reaches(rule: Rule, halves: int, brakes: int) -> bool:
    assert rule.percent is not None  # noqa: S101 - a share is a percentage
    return halves * rule.percent.denominator >= rule.percent.numerator * 2 * brakes


def _verdict(
    law: Law,
    rule: Rule,
    value: Value,
    counted: tuple[Counted, ...],
    *,
    units: tuple[str, ...],
    halves: int,
    most: int,
    brakes: int,
) -> Verdict | None:
    reached = _reaches(rule, halves, brakes)
    rests_on_halves = _halves_unconfirmed(law) and _depends_on_halves(rule, counted, halves, brakes)
    if reached:
        outcome, code = rule.then, "count_over"
    elif _reaches(rule, most, brakes):
        outcome, code = "unseen", "count_open"
    elif rests_on_halves:
        outcome, code = "watch", "count_rests_on_halves"
    else:
        return None
    memory = value.basis == "memory" and rule.id not in law.scale.policy.confirmed
    assert rule.percent is not None  # noqa: S101 - a share is a percentage
    return Verdict(
        outcome=outcome,
        code=code,
        remedy=code,
        rule=rule.id,
        layer=rule.layer,
        jurisdiction=rule.jurisdiction,
        citation=value.cited,
        basis=value.basis,
        unconfirmed=memory or rests_on_halves,
        args={
            "units": units,
            "halves": halves,
            "defective": as_brakes(halves),
            "possible": as_brakes(most),
            "brakes": brakes,
            "percent": int(rule.percent * 100),
        },
    )


def _halves_unconfirmed(law: Law) -> bool:
    """Whether nobody has confirmed, for this day, that a stroke a little past its limit counts half."""
    value = law.rule_set.rules[HALF_SETTING].in_force(law.on)
    return (
        value is not None
        and value.unconfirmed_from is not None
        and value.unconfirmed_from <= law.on
        and HALF_SETTING not in law.scale.policy.confirmed
    )


def _depends_on_halves(rule: Rule, counted: tuple[Counted, ...], halves: int, brakes: int) -> bool:
    """Whether counting every half as nothing, or as a whole, would change what the share comes to."""
    half_ends = sum(1 for end in counted if end.halves == _HALF)
    outcomes = {
        _reaches(rule, halves - half_ends, brakes),
        _reaches(rule, halves, brakes),
        _reaches(rule, halves + half_ends, brakes),
    }
    return len(outcomes) > 1


def as_brakes(halves: int) -> str:
    """Write a number of half brakes as whole ones and a half.

    >>> as_brakes(0), as_brakes(3), as_brakes(1)
    ('0', '1½', '½')
    """
    whole, half = divmod(halves, 2)
    return f"{whole or ''}{'½' if half else ''}" or "0"
