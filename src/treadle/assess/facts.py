"""What is known of a wheel end or unit, and whether a rule's conditions hold on it: yes, no, or not known."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any

from treadle.fleet.records import Axle, Unit, WheelEnd
from treadle.measure import Quantity, convert

Facts = Mapping[str, Any]

CHOICES = frozenset(
    {"lining_form", "lining_attachment", "design", "type", "stroke_class", "rated_stroke", "units_coupled"}
)
"""Facts that always have one value or another, known or not; the rules cover every value."""

_SAME_RATED_STROKE_MM = Fraction(1)
"""Rated strokes are marked in eighths of an inch or rounded millimetres, so 64 mm is 2 1/2 in (chosen)."""


def unit_facts(unit: Unit, *, units_coupled: int | None = None) -> dict[str, Any]:
    """Return what is known of a unit; `units_coupled` is None where it is not known how it was tested."""
    return {
        "kind": unit.kind,
        "power_unit": unit.is_power_unit,
        "built": unit.built,
        "units_coupled": units_coupled,
    }


def end_facts(unit: Unit, axle: Axle, end: WheelEnd) -> dict[str, Any]:
    """Return what is known of one wheel end of a unit; None stands for a fact not known."""
    chamber = end.chamber
    return {
        **unit_facts(unit),
        "role": axle.role,
        "steering": axle.role == "steer" and unit.is_power_unit,
        "brake": end.brake,
        "lining_form": end.lining_form,
        "lining_attachment": end.lining_attachment,
        "spring_brake": end.spring_brake,
        "wear_mark": end.wear_mark,
        "design": chamber.design if chamber else None,
        "type": chamber.type if chamber else None,
        "stroke_class": chamber.stroke_class if chamber else None,
        "rated_stroke": chamber.rated_stroke if chamber else None,
    }


def unknown_in(table: Mapping[str, Any], facts: Facts) -> frozenset[str] | None:
    """Test a rule's conditions.

    Returns
    -------
    frozenset of str, or None
        None where a condition is not met; else the facts that are not known and on which it depends: empty where
        every condition is met.
    """
    unknown = set()
    for key, wanted in table.items():
        name = _FACT_BEHIND.get(key, key)
        met = _is_met(key, wanted, facts.get(name))
        if met is False:
            return None
        if met is None:
            unknown.add(name)
    return frozenset(unknown)


_FACT_BEHIND = {"built_from": "built", "built_before": "built", "units_coupled_from": "units_coupled"}


def _is_met(key: str, wanted: Any, fact: Any) -> bool | None:
    if fact is None:
        return None
    match key:
        case "built_from":
            return bool(met) if (met := fact.on_or_after(wanted)) is not None else None
        case "built_before":
            return not met if (met := fact.on_or_after(wanted)) is not None else None
        case "units_coupled_from":
            return bool(fact >= wanted)
        case "rated_stroke":
            return any(_same_rated_stroke(fact, size) for size in wanted)
    return fact in wanted


@lru_cache(maxsize=1024)
def _same_rated_stroke(one: Quantity, other: Quantity) -> bool:
    return abs(convert(one.value, one.unit, "mm") - other.in_unit("mm")) <= _SAME_RATED_STROKE_MM
