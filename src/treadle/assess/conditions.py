"""Judging what was seen, against every provision that the published list of conditions names for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from treadle.assess.comparison import breach_of
from treadle.assess.facts import unknown_in
from treadle.assess.law import Law
from treadle.assess.limits import limits_for
from treadle.assess.verdict import Verdict
from treadle.assess.weigh import Weighed, weigh
from treadle.fleet.records import Reading
from treadle.rules.model import EVERYWHERE


def conditions_that_count(readings: Sequence[Reading]) -> list[str]:
    """Return the conditions that stand: a later "none seen" clears what was seen before it."""
    cleared = [reading.taken.at for reading in readings if reading.value == "none_seen"]
    seen = [
        str(reading.value)
        for reading in readings
        if reading.value != "none_seen" and not any(at > reading.taken.at for at in cleared)
    ]
    return seen or (["none_seen"] if cleared else [])


def weigh_condition(law: Law, name: str, runs_in: Sequence[str], facts: Mapping[str, Any], *, kind: str) -> Weighed:
    """Weigh something seen against every provision its entry names, in each layer, where the unit runs."""
    condition = law.rule_set.conditions[name]
    args = {
        "kind": kind,
        "condition": name,
        "label_en": condition.label["en"],
        "label_es": condition.label["es"],
    }
    comparisons, spoken, too_early = [], set(), False
    for rule_id in condition.breaches:
        rule = law.rule_set.rules[rule_id]
        if rule.jurisdiction not in (*runs_in, EVERYWHERE) or unknown_in(rule.applies, facts) is None:
            continue
        limits = limits_for(
            "condition",
            (rule,),
            rule_set=law.rule_set,
            on=law.on,
            runs_in=tuple(runs_in),
            facts=facts,
            part_figures={},
        )
        too_early = too_early or limits.too_early
        if limits.groups:
            spoken.add(rule.jurisdiction)
            comparisons.append(breach_of(limits.groups[0]))
    out = weigh(
        comparisons,
        law.scale,
        kind="condition",
        needed=True,
        steering=bool(facts.get("steering")),
        args=args,
    )
    for place in () if EVERYWHERE in spoken else runs_in:
        if place not in spoken:
            code = "no_rule_yet" if too_early else "no_rule_here"
            held = {**args, "place": place, "on": law.on.isoformat()}
            out.verdicts.append(Verdict(outcome="unseen", code=code, remedy=code, jurisdiction=place, args=held))
    return out
