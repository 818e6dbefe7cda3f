"""The law as it stands on a day for one occasion, the shop's policy among it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from treadle.assess.limits import Limits
from treadle.assess.policy import Policy
from treadle.assess.weigh import Scale, Weighed
from treadle.rules.model import Rule, RuleSet

HALF_SETTING = "us.roadside.half_defect"
"""The rule that says from which excess a stroke counts as a whole defective brake."""


@dataclass(frozen=True, slots=True)
class Law:
    """The rules as they stand on a day, the shop's policy among them."""

    rule_set: RuleSet
    on: date
    scale: Scale
    by_quantity: Mapping[str, tuple[Rule, ...]]
    of_units: dict[Any, Limits] = field(default_factory=dict, compare=False)
    """Limits on tests of whole units, as they are resolved."""
    abs_of_units: dict[Any, Weighed] = field(default_factory=dict, compare=False)
    """What ABS fitted or absent comes to, as it is weighed."""

    def counts(self, jurisdiction: str, kind: str) -> bool:
        """Whether a defect in a kind of reading adds to the share of defective brakes of a jurisdiction."""
        return any(
            rule.counts is not None and rule.jurisdiction == jurisdiction for rule in self.by_quantity.get(kind, ())
        )


def law_on(on: date, occasion: str, rule_set: RuleSet, policy: Policy) -> Law:
    """Return the law of a day for an occasion."""
    setting = rule_set.rules[HALF_SETTING].in_force(on)
    figure = setting.rows[0].figure if setting else None
    by_quantity: dict[str, tuple[Rule, ...]] = {}
    for rule in (*rule_set.rules.values(), *policy.rules):
        by_quantity[rule.quantity] = (*by_quantity.get(rule.quantity, ()), rule)
    scale = Scale(on, occasion, policy, figure.customary if figure else None)
    return Law(rule_set, on, scale, by_quantity)
