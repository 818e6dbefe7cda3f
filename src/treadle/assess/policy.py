"""What the shop adds to the law: tighter limits of its own, near bands, ageing, and limits it has confirmed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from treadle.errors import BadInput, Problem
from treadle.fleet.read import DIMENSIONS
from treadle.measure import Quantity, read_quantity
from treadle.rules.compare import asks_for_less, is_limit, strictness
from treadle.rules.model import Figure, Row, Rule, RuleSet, Value, Window
from treadle.sources import cite

_NEAR_NAMES = {"applied_stroke": "stroke", "lining": "lining", "drum_diameter": "drum"}
NEAR = {
    # Engineering choices, for the shop to set: an eighth of stroke, a sixteenth of lining, 20 thousandths of drum.
    "stroke": read_quantity("1/8 in", "length", where="near.stroke"),
    "lining": read_quantity("1/16 in", "length", where="near.lining"),
    "drum": read_quantity("0.020 in", "length", where="near.drum"),
}
_COMPARATORS = (
    "breach_if_more_than",
    "breach_if_more_than_or_equal",
    "breach_if_less_than",
    "breach_if_less_than_or_equal",
)


@dataclass(frozen=True, slots=True, eq=False)
class Policy:
    """What the shop says beside the law; without arguments, law only.

    `age_days` is the age past which a reading is no longer seen; `unseen_blocks` says for each occasion whether what
    is unseen keeps a unit in; `confirmed` holds the ids of rules whose official text someone of the shop has read.
    """

    near: Mapping[str, Quantity] = field(default_factory=lambda: NEAR)
    age_days: int | None = None
    age_miles: int | None = None
    unseen_blocks: Mapping[str, bool] | None = None
    rules: tuple[Rule, ...] = ()
    confirmed: frozenset[str] = frozenset()

    def near_band(self, kind: str) -> Quantity | None:
        """Return the band before a limit on a kind of reading; None where there is none."""
        name = _NEAR_NAMES.get(kind)
        return None if name is None else self.near.get(name)


LAW_ONLY = Policy()
_Model = TypeVar("_Model", bound=BaseModel)


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _Near(_Strict):
    stroke: str | None = None
    lining: str | None = None
    drum: str | None = None


class _Age(_Strict):
    days: int | None = None
    miles: int | None = None


class _PolicyRule(_Strict):
    quantity: str
    applies: dict[str, Any] = {}
    comparator: str | None = None
    breach_if_more_than: str | Literal[True] | None = None
    breach_if_more_than_or_equal: str | Literal[True] | None = None
    breach_if_less_than: str | Literal[True] | None = None
    breach_if_less_than_or_equal: str | Literal[True] | None = None
    value: str | None = None
    then: Literal["watch", "fix"] = "watch"
    place: Literal["centre", "thinnest"] | None = None


class _Confirmation(_Strict):
    rule: str
    edition: str
    by: str
    on: str


class _ConfirmedFile(_Strict):
    treadle: Literal["confirmed/1"]
    limits: list[_Confirmation]


class _PolicyFile(_Strict):
    treadle: Literal["policy/1"]
    near: _Near = _Near()
    age: _Age = _Age()
    unseen_blocks: dict[str, bool] = {}
    rules: list[_PolicyRule] = []


def read_policy(text: str, rule_set: RuleSet, on: date) -> Policy:
    """Read a shop's policy file and hold it against the law of a day: it may tighten, never loosen.

    Raises
    ------
    BadInput
        The file cannot be read, or one of its rules is looser than a law it stands beside; the message names both.
    """
    entry = _parsed(text, _PolicyFile, "policy")
    rules, problems = [], []
    for index, written in enumerate(entry.rules):
        try:
            rule = _policy_rule(index, written, rule_set)
            problems += _looser_than(rule, rule_set, on, index)
            rules.append(rule)
        except BadInput as refused:
            problems += refused.problems
    near = dict(NEAR)
    for name, size in entry.near.model_dump(exclude_none=True).items():
        near[name] = read_quantity(size, "length", where=f"policy near.{name}")
    if problems:
        raise BadInput(problems)
    return Policy(near, entry.age.days, entry.age.miles, entry.unseen_blocks, tuple(rules))


def read_confirmed(text: str, rule_set: RuleSet) -> frozenset[str]:
    """Read which limits someone of the shop has read in the official text; return the ids of their rules.

    Raises
    ------
    BadInput
        The file cannot be read, an entry lacks the person, the day or the edition, or names no rule.
    """
    entry = _parsed(text, _ConfirmedFile, "confirmed")
    problems = []
    for index, limit in enumerate(entry.limits):
        where = f"confirmed limits[{index}]"
        if limit.rule not in rule_set.rules:
            problems.append(Problem("unknown_rule", where, {"rule": limit.rule}))
        problems += [
            Problem("missing_field", where, {"field": name})
            for name in ("edition", "by")
            if not getattr(limit, name).strip()
        ]
        try:
            date.fromisoformat(limit.on)
        except ValueError:
            problems.append(Problem("unreadable_day", f"{where}.on", {"given": limit.on}))
    if problems:
        raise BadInput(problems)
    return frozenset(limit.rule for limit in entry.limits)


def _parsed(text: str, model: type[_Model], name: str) -> _Model:
    try:
        return model.model_validate(json.loads(text))
    except json.JSONDecodeError as fault:
        details = {"line": fault.lineno, "column": fault.colno, "reason": fault.msg}
        raise BadInput(Problem("not_json", name, details)) from fault
    except ValidationError as fault:
        first = fault.errors()[0]
        place = ".".join(str(step) for step in first["loc"])
        raise BadInput(
            Problem("wrong_type", f"{name} {place}", {"given": first["input"], "reason": first["msg"]})
        ) from fault


def _policy_rule(index: int, entry: _PolicyRule, rule_set: RuleSet) -> Rule:
    """Return a policy entry as a rule; on strokes it asks for the circumstances the operating law asks for."""
    where = f"policy rules[{index}]"
    named = {name: getattr(entry, name) for name in _COMPARATORS if getattr(entry, name) is not None}
    comparator = entry.comparator or next(iter(named), "")
    sizes = [entry.value, *(size for size in named.values() if isinstance(size, str))]
    size = next((size for size in sizes if size is not None), None)
    if comparator not in _COMPARATORS or len(named) > 1 or size is None:
        details = {"given": comparator or "none", "allowed": ", ".join(_COMPARATORS)}
        raise BadInput(Problem("word_not_allowed", f"{where} comparator and value", details))
    if entry.quantity not in DIMENSIONS:
        details = {"given": entry.quantity, "allowed": ", ".join(sorted(DIMENSIONS))}
        raise BadInput(Problem("word_not_allowed", f"{where}.quantity", details))
    limit = read_quantity(size, DIMENSIONS[entry.quantity], where=f"{where}.value")
    row = Row({}, Figure(customary=limit), "chosen", size)
    return Rule(
        id=f"shop.policy.{index + 1}",
        label={"en": "Shop policy", "es": "Norma del taller"},
        quantity=entry.quantity,
        comparator=comparator,
        layer="policy",
        then=entry.then,
        values=(Value(date.min, None, cite("shop-policy", f"rule {index + 1}"), (), "chosen", (row,)),),
        applies={key: tuple(value) if isinstance(value, list) else (value,) for key, value in entry.applies.items()},
        place=entry.place,
        window=_circumstances_of(entry.quantity, rule_set),
    )


def _circumstances_of(quantity: str, rule_set: RuleSet) -> Window:
    laws = (rule for rule in rule_set.rules.values() if rule.quantity == quantity and rule.layer == "operate")
    return next((law.window for law in laws if law.window != Window()), Window())


def _looser_than(rule: Rule, rule_set: RuleSet, on: date, index: int) -> list[Problem]:
    """Return a problem for each operating law on the same thing that asks for more than the shop's rule does."""
    policy_limit = rule.values[0].rows[0].figure
    assert policy_limit is not None  # noqa: S101 - set just above
    problems = []
    for law in rule_set.rules.values():
        value = law.in_force(on)
        same = law.quantity == rule.quantity and law.layer == "operate" and is_limit(law.comparator)
        if not same or value is None or asks_for_less(law.comparator) != asks_for_less(rule.comparator):
            continue
        if _never_together(rule.applies, law.applies):
            continue
        for row in value.rows:
            if row.figure is None or _never_together(rule.applies, row.when):
                continue
            shop = policy_limit.beside("in")
            limit = row.figure.beside(shop.unit)
            ours = strictness(rule.comparator, shop.in_unit(limit.unit))
            if ours < strictness(law.comparator, limit.value):
                details = {"value": str(shop), "law": f"{value.cited} ({law.id})", "limit": str(limit)}
                problems.append(Problem("policy_looser", f"policy rules[{index}]", details))
                break
    return problems


def _never_together(ours: Mapping[str, Any], theirs: Mapping[str, Any]) -> bool:
    """Whether no wheel end can meet both sets of conditions."""
    for key, wanted in ours.items():
        other = theirs.get(key)
        if isinstance(other, tuple) and isinstance(wanted, tuple) and not set(wanted) & set(other):
            return True
    return _steering_contradicts(ours, theirs)


def _steering_contradicts(ours: Mapping[str, Any], theirs: Mapping[str, Any]) -> bool:
    roles, steering = ours.get("role"), theirs.get("steering")
    return roles is not None and steering == (True,) and "steer" not in roles
