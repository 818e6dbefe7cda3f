"""Limits resolved for one unit, occasion and day, so that a phone can give the outcome of a reading and know no law.

Every number is a whole number of the unit's finest step, and every band of numbers carries what the judge itself says
anywhere inside it: nothing is worked out a second way.  What needs more than one place, the share over a combination
and the match across an axle, waits for the server.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from fractions import Fraction
from math import ceil, floor
from typing import Any

from treadle.assess.judge import Judge, judge_of
from treadle.assess.needs import needed_at
from treadle.assess.policy import LAW_ONLY, Policy
from treadle.assess.verdict import SEVERITY, Verdict
from treadle.assess.wheel_end import EndPlan, judge_end
from treadle.fleet.records import SIDES, Reading, Taken, Unit
from treadle.measure import Quantity, convert
from treadle.rules.model import RuleSet

STEPS: dict[str, int] = {"in": 8000, "mm": 100}
"""Steps to the unit: fine enough for every division of a rule down to 1/64 in and for thousandths, and for 0.01 mm."""

_PRESSURES = ("psi", "kPa")
_LENGTHS = ("free_stroke", "running_clearance", "drum_diameter", "rotor_thickness")
_PLACES = ("centre", "thinnest")
_ANY_TIME = datetime(2000, 1, 1, tzinfo=UTC)
_TAKEN = Taken(at=_ANY_TIME, by="", engine="off", spring_brakes="released")


def resolve_limits(
    unit: Unit, rule_set: RuleSet, *, on: date, occasion: str, policy: Policy = LAW_ONLY
) -> dict[str, Any]:
    """Return what every reading at every wheel end of a unit would come to.

    Parameters
    ----------
    unit : Unit
        The unit as it stands.
    rule_set : RuleSet
        The rules.
    on : date
        The day judged.
    occasion : str
        The occasion, which says what is needed.
    policy : Policy, optional
        The shop's own, tighter limits.

    Returns
    -------
    dict
        The file ``limits/1``: ``ends`` lists the distinct kinds of wheel end, ``wheel_ends`` says which each end is.
        A ``bands`` entry holds from ``from`` to ``to`` steps, both included; ``to`` of the last is null.  A stroke's
        ``words`` are what stands instead of a size; ``args`` fill the sentence of ``code``, beside the reading's own.
    """
    judge = judge_of(rule_set, on, occasion, policy)
    plans: dict[int, int] = {}
    ends: list[dict[str, Any]] = []
    places = []
    for axle in unit.axles:
        for side in SIDES:
            if axle.end(side).brake == "none":
                continue
            plan = judge.plan(unit, axle, side)
            if id(plan) not in plans:
                plans[id(plan)] = len(ends)
                ends.append(_end(judge, plan))
            places.append({"axle": axle.number, "side": side, "end": plans[id(plan)]})
    return {
        "treadle": "limits/1",
        "unit": unit.number,
        "on": on.isoformat(),
        "occasion": occasion,
        "edition": rule_set.edition,
        "steps": STEPS,
        "wheel_ends": places,
        "ends": ends,
    }


def _end(judge: Judge, plan: EndPlan) -> dict[str, Any]:
    end = plan.end
    needs = needed_at(judge.occasion, end.brake, rod_can_be_seen=end.rod_can_be_seen)
    return {
        "needs": list(needs),
        "measures": [
            *_strokes(plan, needs),
            *_linings(plan, needs),
            *(
                _measure(plan, kind, unit, (_reading(kind),), (kind,) if kind in needs else ())
                for kind in _LENGTHS
                for unit in STEPS
                if plan.limits(kind).groups
            ),
        ],
        "words": {kind: _words(plan, kind, words) for kind, words in _word_kinds(judge).items()},
    }


def _word_kinds(judge: Judge) -> dict[str, tuple[str, ...]]:
    seen = tuple(name for name, one in judge.rule_set.conditions.items() if one.part in ("brake", "none"))
    return {"condition": seen, "wear_indicator": ("clear", "at_mark", "gone")}


def _words(plan: EndPlan, kind: str, words: Iterable[str]) -> dict[str, Any]:
    return {word: _said(judge_end(plan, [replace(_reading(kind), value=word)], ()).verdicts) for word in words}


def _strokes(plan: EndPlan, needs: tuple[str, ...]) -> Iterator[dict[str, Any]]:
    """One table for each range of reservoir pressure in which the rules take the reading alike."""
    need = ("stroke",) if "stroke" in needs else ()
    windows = [
        group.rule.window.reservoir
        for group in plan.limits("applied_stroke").groups
        if group.rule.window.reservoir is not None
    ]
    for unit in STEPS:
        for pressure in _PRESSURES:
            edges = {Fraction(0)}
            for low, high in windows:
                edges |= {Fraction(ceil(low.in_unit(pressure))), Fraction(floor(high.in_unit(pressure)) + 1)}
            yield from _stroke_tables(plan, unit, pressure, sorted(edges), need)


def _stroke_tables(
    plan: EndPlan, unit: str, pressure: str, edges: list[Fraction], need: tuple[str, ...]
) -> list[dict[str, Any]]:
    """Return a table for each range of pressure; neighbours that say the same are one."""
    tables: list[dict[str, Any]] = []
    for start, after in zip(edges, [*edges[1:], None], strict=True):
        reading = _reading("applied_stroke", reservoir=Quantity(start, pressure))
        table = _measure(plan, "applied_stroke", unit, (reading,), need)
        table["words"] = _specials(plan, reading)
        last = None if after is None else int(after) - 1
        if tables and all(tables[-1][name] == table[name] for name in ("bands", "words")):
            tables[-1]["reservoir"]["to"] = last
            continue
        table["reservoir"] = {"unit": pressure, "from": int(start), "to": last}
        table["asks"] = {"engine": "off", "spring_brakes": "released"}
        tables.append(table)
    return tables


def _specials(plan: EndPlan, reading: Reading) -> dict[str, Any]:
    """Return what the judge says where the rod did not move, or ran to the end of its travel."""
    return {
        word: _said(judge_end(plan, [replace(reading, special=word)], ()).verdicts)
        for word in ("no_movement", "bottomed")
    }


def _linings(plan: EndPlan, needs: tuple[str, ...]) -> Iterator[dict[str, Any]]:
    """A table for each place on the shoe; both shoes are judged alike, so one stands for either."""
    if not plan.limits("lining").groups:
        return
    parts, need = (("inner", "outer"), "pads") if plan.end.brake.endswith("disc") else (("upper", "lower"), "shoes")
    for place in _PLACES:
        for unit in STEPS:
            readings = tuple(replace(_reading("lining"), part=part, place=place) for part in parts)
            table = _measure(plan, "lining", unit, readings, (need,) if need in needs else ())
            table["place"] = place
            yield table


def _reading(kind: str, reservoir: Quantity | None = None) -> Reading:
    taken = _TAKEN if reservoir is None else replace(_TAKEN, reservoir=reservoir)
    return Reading(unit="", kind=kind, taken=taken)


def _measure(
    plan: EndPlan, kind: str, unit: str, readings: tuple[Reading, ...], needs: tuple[str, ...]
) -> dict[str, Any]:
    """Return the bands of one kind of reading, each asked of the judge at its first step."""
    bands: list[dict[str, Any]] = []
    for start in sorted(_edges(plan, kind, unit)):
        size = Quantity(Fraction(start, STEPS[unit]), unit)
        verdicts = judge_end(plan, [replace(reading, value=size) for reading in readings], needs).verdicts
        said = _said([verdict for verdict in verdicts if verdict.code not in ("missing", "not_seen")])
        if bands and {key: value for key, value in bands[-1].items() if key not in ("from", "to")} == said:
            continue
        if bands:
            bands[-1]["to"] = start - 1
        bands.append({"from": start, "to": None, **said})
    return {"kind": kind, "unit": unit, "bands": bands}


def _edges(plan: EndPlan, kind: str, unit: str) -> set[int]:
    """Return every step at which what the judge says may change: limits, near bands, and a stroke of nothing."""
    near = plan.law.scale.policy.near_band(kind)
    edges = {0, 1}
    for group in plan.limits(kind).groups:
        for candidate in group.candidates:
            for figure in candidate.figures:
                limit = figure.beside(unit)
                band = near.in_unit(limit.unit) if near is not None else Fraction(0)
                for value in (limit.value, limit.value - band, limit.value + band):
                    steps = convert(value, limit.unit, unit) * STEPS[unit]
                    edges |= {edge for edge in (ceil(steps), floor(steps) + 1) if edge > 0}
    return edges


def _said(verdicts: Iterable[Verdict]) -> dict[str, Any]:
    """Return what the worst verdict says; nothing said is null, which is not good."""
    ranked = sorted(verdicts, key=lambda verdict: SEVERITY[verdict.outcome])
    if not ranked:
        return {"outcome": None}
    worst = ranked[0]
    return {
        "outcome": worst.outcome,
        "code": worst.code,
        "remedy": worst.remedy,
        "rule": worst.rule,
        "citation": worst.citation,
        "limit": None if worst.limit is None else str(worst.limit),
        "unconfirmed": worst.unconfirmed,
        "missing": list(worst.missing),
        "args": {name: str(value) for name, value in worst.args.items() if name not in _OF_THE_READING},
    }


_OF_THE_READING = frozenset({"kind", "part"})
"""Arguments of a sentence that a reading brings itself."""
