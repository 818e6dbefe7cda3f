"""Reading the shop's policy file and its file of confirmed limits, and holding a policy against the law."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from typing import Any, Literal, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from treadle.assess.policy import NEAR, Policy
from treadle.errors import BadInput, Problem
from treadle.fleet.file_model import Brake, Kind, Occasion, Role
from treadle.fleet.read import DIMENSIONS, parse_json
from treadle.measure import read_quantity
from treadle.rules.compare import asks_for_less, is_limit, strictness
from treadle.rules.model import COMPARATORS, Figure, Row, Rule, RuleSet, Value, Window
from treadle.sources import cite

_COMPARATORS = tuple(name for name in COMPARATORS if is_limit(name))
_CONDITIONS: dict[str, tuple[Any, ...] | None] = {
    "kind": get_args(Kind),
    "role": get_args(Role),
    "brake": get_args(Brake),
    "steering": (True, False),
    "power_unit": (True, False),
    "lining_form": ("continuous", "two_pads"),
    "lining_attachment": ("bonded", "riveted", "bolted"),
    "design": ("clamp", "bolt", "roto", "dual_diaphragm", "unlisted"),
    "stroke_class": ("standard", "long"),
    "type": None,
}
"""What a policy may ask about, and the words it may use; None where any will do."""

_Model = TypeVar("_Model", bound=BaseModel)


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _Near(_Strict):
    stroke: str | None = None
    lining: str | None = None
    drum: str | None = None


class _Age(_Strict):
    days: int | None = Field(default=None, ge=0)
    miles: int | None = Field(default=None, ge=0)


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
    unseen_blocks: dict[Occasion, bool] = {}
    rules: list[_PolicyRule] = []


def read_policy(text: str, rule_set: RuleSet, on: date, *, jurisdictions: Collection[str] | None = None) -> Policy:
    """Read a shop's policy file and hold it against the law of a day: it may tighten, never loosen.

    Parameters
    ----------
    text : str
        The file.
    rule_set : RuleSet
        The law.
    on : date
        The day whose law it stands beside.
    jurisdictions : collection of str, optional
        Where the shop's units run; every place held if left out.

    Raises
    ------
    BadInput
        The file cannot be read, or one of its rules is looser than a law it stands beside; the message names both.
    """
    entry = _parsed(text, _PolicyFile, "policy")
    rules, problems = [], []
    places = rule_set.jurisdictions if jurisdictions is None else jurisdictions
    laws = [law for law in rule_set.rules.values() if law.jurisdiction in places]
    for index, written in enumerate(entry.rules):
        try:
            rule = _policy_rule(index, written, rule_set)
            problems += _looser_than(rule, laws, on, index)
            rules.append(rule)
        except BadInput as refused:
            problems += refused.problems
    near = dict(NEAR)
    for name, size in entry.near.model_dump(exclude_none=True).items():
        near[name] = read_quantity(size, "length", where=f"policy near.{name}")
    if problems:
        raise BadInput(problems)
    blocks = {str(occasion): held for occasion, held in entry.unseen_blocks.items()}
    return Policy(near, entry.age.days, entry.age.miles, blocks, tuple(rules))


def read_confirmed(text: str, rule_set: RuleSet, *, today: date | None = None) -> frozenset[str]:
    """Read which limits someone of the shop has read in the official text; return the ids of their rules.

    With `today`, an entry dated after it is refused: nobody has read it yet.

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
            read_on = date.fromisoformat(limit.on)
            if today is not None and read_on > today:
                problems.append(Problem("day_to_come", f"{where}.on", {"given": limit.on}))
        except ValueError:
            problems.append(Problem("unreadable_day", f"{where}.on", {"given": limit.on}))
    if problems:
        raise BadInput(problems)
    return frozenset(limit.rule for limit in entry.limits)


def _parsed(text: str, model: type[_Model], name: str) -> _Model:
    try:
        return model.model_validate(parse_json(text, name))
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
    comparators = [*named, *([entry.comparator] if entry.comparator else [])]
    sizes = [size for size in (entry.value, *named.values()) if isinstance(size, str)]
    if len(comparators) != 1 or len(sizes) != 1 or comparators[0] not in _COMPARATORS:
        details = {"given": ", ".join(comparators) or "none", "allowed": f"one of {', '.join(_COMPARATORS)}, one value"}
        raise BadInput(Problem("word_not_allowed", f"{where} comparator and value", details))
    comparator, size = comparators[0], sizes[0]
    _refuse_strange_conditions(entry.applies, f"{where}.applies")
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


def _refuse_strange_conditions(applies: Mapping[str, Any], where: str) -> None:
    """Refuse a condition a policy cannot ask about, or a word no wheel end can have."""
    for key, wanted in applies.items():
        if key not in _CONDITIONS:
            details = {"field": key, "allowed": ", ".join(sorted(_CONDITIONS))}
            raise BadInput(Problem("unknown_field", where, details))
        words = _CONDITIONS[key]
        for word in wanted if isinstance(wanted, list) else [wanted]:
            if words is not None and word not in words:
                details = {"given": word, "allowed": ", ".join(map(str, words))}
                raise BadInput(Problem("word_not_allowed", f"{where}.{key}", details))


def _circumstances_of(quantity: str, rule_set: RuleSet) -> Window:
    laws = (rule for rule in rule_set.rules.values() if rule.quantity == quantity and rule.layer == "operate")
    return next((law.window for law in laws if law.window != Window()), Window())


def _looser_than(rule: Rule, laws: Iterable[Rule], on: date, index: int) -> list[Problem]:
    """Return a problem for each operating law on the same thing that asks for more than the shop's rule does."""
    policy_limit = rule.values[0].rows[0].figure
    assert policy_limit is not None  # noqa: S101 - set just above
    problems = []
    for law in laws:
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
