"""Judging whether the two ends of an axle match: chamber size, adjuster length, lining type."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from treadle.assess.comparison import breach_of
from treadle.assess.law import Law
from treadle.assess.weigh import Weighed, weigh
from treadle.assess.wheel_end import EndPlan
from treadle.fleet.records import WheelEnd
from treadle.measure import Quantity

_FACTS: dict[str, Callable[[WheelEnd], Any]] = {
    "chamber_type": lambda end: end.chamber.type if end.chamber else None,
    "arm": lambda end: end.adjuster.arm if end.adjuster else None,
    "lining_type": lambda end: end.lining_type,
    "stroke_class": lambda end: end.chamber.stroke_class if end.chamber else None,
}


def judge_match(law: Law, left: EndPlan, right: EndPlan) -> Weighed:
    """Compare what the rules want alike at both ends of an axle; a fact not stated is not judged."""
    out = Weighed()
    for group in left.limits("axle_match").groups:
        name = group.rule.compares
        if name is None:
            continue
        ours, theirs = _FACTS[name](left.end), _FACTS[name](right.end)
        if ours is None or theirs is None:
            if group.rule.layer == "operate":
                out.not_judged.append((name, "not_stated"))
        elif not _alike(ours, theirs):
            args = {"left": str(ours), "right": str(theirs)}
            mismatch = [breach_of(group)]
            out.take(weigh(mismatch, law.scale, kind=name, needed=True, steering=left.steering, args=args))
    return out.settled()


def _alike(ours: Any, theirs: Any) -> bool:
    if isinstance(ours, Quantity) and isinstance(theirs, Quantity):
        return ours.value == theirs.in_unit(ours.unit)
    return bool(ours == theirs)
